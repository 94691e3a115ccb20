"""Who signed a statement is salted in it, so that a shared history can withhold the name; here it stands beside."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("collection", "0026_settings_and_evidence_in_chains")]

    operations = [
        migrations.AddField("anchor", "named", models.JSONField(null=True)),
        migrations.AddField("broughtstatement", "named", models.JSONField(null=True)),
    ]

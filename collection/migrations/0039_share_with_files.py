from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("collection", "0038_witnesses"),
    ]

    operations = [
        migrations.AddField(
            model_name="sharelink",
            name="with_files",
            field=models.BooleanField(default=False, verbose_name="photographs and documents"),
        ),
    ]

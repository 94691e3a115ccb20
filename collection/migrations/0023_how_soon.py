"""States by how soon waiting does harm: whether anything is known of a duty, and how much in each state.

Only computed rows change; they are of older models, so that each is computed anew when anybody looks.
"""

from django.db import migrations, models

COUNTED = ("act_now", "this_week", "this_month", "unknown", "on_hold")
NEW = tuple(name for name in COUNTED if name != "this_week")


class Migration(migrations.Migration):
    dependencies = [("collection", "0022_record_in_the_chain")]

    operations = [
        migrations.AddField("dutyrow", "unknown", models.BooleanField(default=False)),
        migrations.RemoveIndex("carsummary", "pressing_counted"),
        migrations.RemoveField("carsummary", "late"),
        migrations.RemoveField("carsummary", "held"),
        *(
            migrations.AddField(
                "carsummary", name, models.PositiveSmallIntegerField(default=0), preserve_default=False
            )
            for name in NEW
        ),
        migrations.AddIndex(
            "carsummary",
            models.Index(
                fields=["vehicle", "computed_for", "models_version", *COUNTED], name="pressing_counted"
            ),
        ),
    ]

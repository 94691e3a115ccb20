"""What a car looks like: its kind of body, and the photograph that pages show of it."""

from django.db import migrations, models

import collection.models.choices


class Migration(migrations.Migration):
    dependencies = [("collection", "0023_how_soon")]

    operations = [
        migrations.AddField(
            "vehicle",
            "body",
            models.CharField(
                "kind of body", blank=True, choices=collection.models.choices.body_kinds, default="", max_length=15
            ),
            preserve_default=False,
        ),
        migrations.AddField(
            "vehicle",
            "photograph",
            models.ForeignKey(
                "collection.Attachment", models.SET_NULL, null=True, blank=True, related_name="+"
            ),
        ),
    ]

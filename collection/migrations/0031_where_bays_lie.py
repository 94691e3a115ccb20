"""Where a bay lies on the floor of its building, in metres."""

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import migrations, models

ALONG = [MinValueValidator(0), MaxValueValidator(500.0)]
ACROSS = [MinValueValidator(1.0), MaxValueValidator(30.0)]
NOWHERE = models.Q(
    from_left_m__isnull=True, from_door_m__isnull=True, width_m__isnull=True, depth_m__isnull=True
)
SOMEWHERE = models.Q(from_left_m__gte=0, from_door_m__gte=0, width_m__gte=1.0, depth_m__gte=1.0)


def metres(name, label, validators):
    """A field that may be empty."""
    return migrations.AddField(
        "bay", name, models.FloatField(label, null=True, blank=True, validators=validators)
    )


class Migration(migrations.Migration):
    dependencies = [("collection", "0030_own_duties")]

    operations = [
        metres("from_left_m", "from the left wall, m", ALONG),
        metres("from_door_m", "from the door wall, m", ALONG),
        metres("width_m", "width, m", ACROSS),
        metres("depth_m", "depth, m", ACROSS),
        migrations.AddConstraint(
            "bay",
            models.CheckConstraint(condition=NOWHERE | SOMEWHERE, name="a_bay_lies_somewhere_or_nowhere"),
        ),
    ]

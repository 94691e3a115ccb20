"""Three tables under the names that the trade and the pages use."""

import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("collection", "0016_vocabulary_choices")]

    operations = [
        migrations.RenameModel("Pressing", "CarSummary"),
        migrations.RenameModel("WakingCase", "RecommissionCase"),
        migrations.RenameModel("WakingRates", "RecommissionPrices"),
        migrations.AlterModelOptions("carsummary", {"verbose_name_plural": "car summaries"}),
        migrations.AlterField(
            "carsummary",
            "vehicle",
            models.OneToOneField(
                on_delete=django.db.models.deletion.CASCADE, related_name="summary", to="collection.vehicle"
            ),
        ),
        migrations.AlterField(
            "recommissioncase",
            "vehicle",
            models.OneToOneField(
                on_delete=django.db.models.deletion.CASCADE,
                related_name="recommission_case",
                to="collection.vehicle",
            ),
        ),
        migrations.AlterField(
            "recommissionprices",
            "organisation",
            models.OneToOneField(
                on_delete=django.db.models.deletion.CASCADE,
                related_name="recommission_prices",
                to="collection.organisation",
            ),
        ),
    ]

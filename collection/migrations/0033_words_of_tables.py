import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("collection", "0032_places_on_the_floor")]

    operations = [
        migrations.CreateModel(
            name="SheetWord",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("kind", models.CharField(choices=[("cars", "Cars"), ("log", "Care log")], max_length=8)),
                ("field", models.CharField(max_length=60)),
                ("text", models.CharField(max_length=200)),
                ("meaning", models.CharField(max_length=60)),
                (
                    "organisation",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="sheet_words",
                        to="collection.organisation",
                    ),
                ),
            ],
            options={"verbose_name_plural": "remembered words"},
        ),
        migrations.AddConstraint(
            model_name="sheetword",
            constraint=models.UniqueConstraint(
                fields=("organisation", "kind", "field", "text"), name="one_meaning_a_word"
            ),
        ),
    ]

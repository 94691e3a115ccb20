from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("collection", "0034_what_it_is_built_with")]

    operations = [
        migrations.AddField(
            model_name="vehicle",
            name="taken_back_on",
            field=models.DateField(blank=True, editable=False, null=True, verbose_name="taken back on"),
        ),
    ]

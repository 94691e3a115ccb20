from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("collection", "0035_cars_taken_back")]

    operations = [
        migrations.AddField(
            model_name="sheetimport",
            name="brought_in",
            field=models.CharField(blank=True, default="", max_length=200),
            preserve_default=False,
        ),
        migrations.AddField(
            model_name="sheetimport",
            name="taken_back",
            field=models.CharField(blank=True, default="", max_length=200),
            preserve_default=False,
        ),
    ]

"""Prices of recommissioning stand among all others, in the one money of the organisation.

Where they were typed in another money than its prices they are left behind, since nobody could tell what
they come to; what was typed as low and high is too: an hour and a factor are one figure each.
"""

from django.db import migrations

SAME_MONEY = {"£": "GBP", "€": "EUR", "$": "USD", "¥": "JPY"}
DEFAULT = 1.0  # of the factor on parts


def move(apps, schema_editor):
    rate = apps.get_model("collection", "Rate")
    for row in apps.get_model("collection", "RecommissionPrices").objects.select_related("organisation"):
        keeper = row.organisation
        if not keeper.money and not keeper.rates.exists():
            keeper.money = row.currency
            keeper.save(update_fields=["money"])
        written = keeper.money.strip().upper()
        if SAME_MONEY.get(written, written) != row.currency:
            continue
        rate.objects.create(organisation=keeper, name="workshop_hour", value=min(row.hour_likely, 1000.0))
        if row.parts_likely != DEFAULT:
            rate.objects.create(
                organisation=keeper, name="parts_factor", value=min(row.parts_likely, 100.0)
            )
    if schema_editor.connection.vendor == "postgresql":  # else the table cannot be dropped after these writes
        schema_editor.execute("SET CONSTRAINTS ALL IMMEDIATE")


class Migration(migrations.Migration):
    dependencies = [("collection", "0024_what_a_car_looks_like")]

    operations = [
        migrations.RunPython(move, migrations.RunPython.noop),
        migrations.DeleteModel("RecommissionPrices"),
    ]

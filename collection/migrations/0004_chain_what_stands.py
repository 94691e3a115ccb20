"""Chains every entry that was written before there were chains, in the order of recording."""

from django.db import migrations
from django.db.models import F, Prefetch

from collection.migrations.frozen.links import NOTHING_BEFORE, car_facts, entry_facts, next_link


def chain_what_stands(apps, schema_editor):
    vehicle, entry, reading, chain, link, pseudonym = (
        apps.get_model("collection", name)
        for name in ("Vehicle", "Entry", "Reading", "Chain", "Link", "Pseudonym")
    )
    authors = entry.objects.order_by("by_id").values_list("by_id", flat=True).distinct()
    tokens = {person: str(pseudonym.objects.create(person_id=person).token) for person in authors}
    readings = Prefetch("readings", reading.objects.order_by("pk"))
    for car in vehicle.objects.filter(entries__isnull=False).distinct():
        row, previous, links = chain.objects.create(vehicle=car), NOTHING_BEFORE, []
        log = entry.objects.filter(vehicle=car).prefetch_related(readings)
        in_order = log.order_by("recorded_at", F("corrects_id").asc(nulls_first=True), "pk")
        for seq, each in enumerate(in_order, 1):
            said = entry_facts(each, by=tokens[each.by_id], readings=list(each.readings.all()))
            made = next_link(str(row.pk), said, car=car_facts(car), seq=seq, previous=previous)
            links.append(link(chain=row, **made | {"entry": each}))
            previous = made["digest"]
        link.objects.bulk_create(links, batch_size=500)


class Migration(migrations.Migration):
    dependencies = [("collection", "0003_chain")]

    operations = [migrations.RunPython(chain_what_stands, migrations.RunPython.noop)]

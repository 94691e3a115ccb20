"""What a car is built with; and in its chain: body, photograph, how it was put away, its handbook's values."""

from functools import partial

from django.db import migrations, models
from django.utils import timezone

import collection.models.choices
from collection.migrations.frozen.opening import next_link, record_facts

BUILT = {
    "earth": "earth side",
    "generator": "",
    "ignition": "",
    "cooling": "",
    "gearbox": "",
    "cam": "camshaft drive",
    "gas": "gas system",
    "steering": "",
    "suspension": "",
}
PUT_AWAY = ("known_preparation", "damp", "conditions")
HANDBOOK = ("low", "high", "source")
EMPTY = (None, "")
AT_ONCE = 200  # cars


def _column(part, title):
    named = {"verbose_name": title} if title else {}
    choices = partial(collection.models.choices.built_with, part)
    return migrations.AddField(
        "vehicle", part, models.CharField(blank=True, choices=choices, default="", max_length=20, **named),
        preserve_default=False,
    )  # fmt: skip


def write_down(apps, schema_editor):
    """One entry for each car of which any of it stands: since when it is so nobody noted."""
    cars = apps.get_model("collection", "Vehicle").objects.select_related("photograph").order_by("pk")
    for car in cars.iterator(chunk_size=AT_ONCE):
        facts = {
            name: {"was": None, "now": value, "since": None}
            for name, value in _stands(car)
            if value not in EMPTY
        }
        if facts and car.record_entries.exists() and not _released(car):
            _write(apps, car, facts)
    schema_editor.connection.check_constraints()  # PostgreSQL alters no table with checks still to come


def _stands(car):
    yield "body", car.body
    yield "photograph", car.photograph.digest if car.photograph else None
    if case := getattr(car, "recommission_case", None):
        for name in PUT_AWAY:
            value = getattr(case, name)
            yield f"put_away.{name}", "; ".join(value) if isinstance(value, list) else value
    for row in car.handbook_values.order_by("pk"):
        yield from ((f"handbook.{row.check_key}.{name}", getattr(row, name)) for name in HANDBOOK)


def _released(car):
    """Whether its chain goes on with whoever has the car now."""
    return car.left_on is not None and car.handovers.filter(organisation=car.organisation_id).exists()


def _write(apps, car, facts):
    last = apps.get_model("collection", "Link").objects.filter(chain=car.chain).order_by("-seq").first()
    now = max([timezone.now(), *_written(last)])  # the clock may stand behind the chain
    entry = apps.get_model("collection", "RecordEntry")(
        vehicle=car, done_at=now, recorded_at=now, facts=facts
    )
    made = next_link(
        str(car.chain.pk), record_facts(entry), car=car, seq=last.seq + 1, previous=last.digest
    )
    entry.link = apps.get_model("collection", "Link").objects.create(
        chain=car.chain, **made | {"entry": None}
    )
    entry.save()


def _written(link):
    """When the newest link's entry was written down."""
    if link.entry_id:
        yield link.entry.recorded_at
    for name in ("record", "evidence"):
        if row := getattr(link, name, None):
            yield getattr(row, "chained_at", None) or row.recorded_at


class Migration(migrations.Migration):
    dependencies = [("collection", "0033_words_of_tables")]

    operations = [
        *(_column(part, title) for part, title in BUILT.items()),
        migrations.RunPython(write_down, migrations.RunPython.noop),
    ]

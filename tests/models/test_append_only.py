"""The database itself refuses to change or delete what stands in the care log."""

from datetime import UTC, datetime

import pytest
from django.db import DatabaseError, connection, transaction

from collection.care.actions.care import Measured, log_entry
from collection.models import Entry, Reading

NOW = datetime(2026, 11, 25, 10, 0, tzinfo=UTC)
REFUSAL = "the care log only grows"


@pytest.fixture
def entry(car, keeper):
    return log_entry(
        vehicle=car,
        kind="charge",
        done_at=NOW,
        by=keeper,
        idempotency_key="first",
        now=NOW,
        details={"completed": True},
        readings=[Measured("rested_volts", 12.4)],
    ).entry


def change_entry(entry):
    entry.note = "polished afterwards"
    entry.save()


def change_reading(entry):
    reading = entry.readings.get()
    reading.value = 12.7
    reading.save()


def sql(statement):
    def run(_entry):
        with connection.cursor() as cursor:
            cursor.execute(statement)

    return run


@pytest.mark.parametrize(
    "attempt",
    [
        change_entry,
        change_reading,
        lambda entry: Entry.objects.filter(pk=entry.pk).update(note="other"),
        lambda entry: Reading.objects.filter(entry=entry).update(value=12.7),
        lambda entry: entry.readings.get().delete(),
        lambda _: Reading.objects.all()._raw_delete("default"),
        lambda _: Entry.objects.all()._raw_delete("default"),
        sql("UPDATE collection_entry SET note = 'other'"),
        sql("UPDATE collection_reading SET value = 12.7"),
        sql("DELETE FROM collection_reading"),
        sql("DELETE FROM collection_entry"),
    ],
)
def test_no_way_of_writing_changes_or_deletes_an_entry_or_its_reading(entry, attempt):
    with pytest.raises(DatabaseError, match=REFUSAL), transaction.atomic():
        attempt(entry)
    kept = Entry.objects.get()
    assert kept.note == ""
    assert kept.readings.get().value == 12.4


def test_an_entry_without_readings_cannot_be_deleted_either(car, keeper):
    note = log_entry(
        vehicle=car, kind="note", done_at=NOW, by=keeper, idempotency_key="n", now=NOW, note="Key on hook 4."
    ).entry
    with pytest.raises(DatabaseError, match=REFUSAL), transaction.atomic():
        Entry.objects.filter(pk=note.pk)._raw_delete("default")
    assert Entry.objects.filter(pk=note.pk).exists()

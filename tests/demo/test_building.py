"""The demo barn is built the same each time, by our own rules, at any season."""

from collections import Counter
from datetime import UTC, datetime

import pytest
from django.db import transaction
from django.urls import reverse
from django.utils import timezone

from collection import demo
from collection.care.actions.care import record
from collection.care.actions.moves import FILLED_IN
from collection.care.draft import Draft, Measured
from collection.demo.diary import Diary
from collection.demo.people import PEOPLE, add_people
from collection.life.duties import STATE_ORDER, state_of
from collection.models import (
    CareKind,
    DutyRow,
    Entry,
    Organisation,
)

NOW = datetime(2026, 11, 25, 9, 30, tzinfo=UTC)


def test_the_barn_is_the_same_each_time(db):
    def facts():
        demo.build(NOW)
        rows = list(Entry.objects.order_by("pk").values_list("pk", "kind", "done_at", "details", "by__name"))
        columns = ("duty", "due", "limit")
        return rows, list(DutyRow.objects.order_by(*columns).values_list(*columns))

    with transaction.atomic():
        first = facts()
        transaction.set_rollback(True)
    entries, duties = facts()
    same = [(pk, kind, at, by) for pk, kind, at, _, by in first[0]]
    assert same == [(pk, kind, at, by) for pk, kind, at, _, by in entries]
    assert first[1] == duties


def test_every_entry_would_have_been_accepted_from_a_keeper_at_the_time(db, monkeypatch):
    """Instead of storing in bulk, send each entry through the action that pages use."""
    sent = Counter()

    def store(diary):
        stored = {}
        readings = {}
        for reading in diary.readings:
            readings.setdefault(reading.entry_id, []).append(
                Measured(
                    reading.quantity,
                    reading.value,
                    reading.position,
                    reading.temperature_c,
                    reading.rest_hours,
                )
            )
        for entry in sorted(diary.entries, key=lambda entry: entry.recorded_at):
            details = {key: it for key, it in entry.details.items() if key not in FILLED_IN}
            for names in details.keys() & {"opened", "answers"}:  # an entry that names an earlier one
                details[names] = str(stored[details[names]].pk)
            draft = Draft(
                entry.vehicle,
                entry.kind,
                entry.done_at,
                details,
                tuple(readings.get(entry.pk, ())),
                entry.note,
                stored[str(entry.corrects_id)] if entry.corrects_id else None,
            )
            logged = record(draft, by=entry.by, idempotency_key=entry.idempotency_key, now=entry.recorded_at)
            stored[str(entry.pk)] = logged.entry
            sent[logged.entry.kind] += logged.created

    monkeypatch.setattr(Diary, "store", store)
    demo.build(NOW)
    assert sum(sent.values()) == Entry.objects.count() > 2000
    assert set(sent) == set(CareKind.values), "the demo shows every kind of care"


@pytest.mark.parametrize("month", [1, 4, 7, 10])
def test_at_any_season_there_is_work_and_most_is_well(db, month):
    now = datetime(2027, month, 12, 9, tzinfo=UTC)
    demo.build(now)
    states = Counter(state_of(row, now.date()) for row in DutyRow.objects.all())
    total = sum(states.values())
    assert set(states) == set(STATE_ORDER)
    assert states["later"] > 0.35 * total
    assert 0.02 * total < states["act_now"] < 0.3 * total


@pytest.mark.parametrize("person", PEOPLE, ids=lambda person: person.email)
def test_every_demo_person_signs_in_with_the_printed_password(db, client, person):
    add_people(Organisation.objects.create(name=demo.ORGANISATION), timezone.now())
    answer = client.post(
        reverse("sign_in"), {"login": person.email, "password": person.password}, follow=True
    )
    assert answer.status_code == 200
    assert answer.context["request"].access.role == person.role

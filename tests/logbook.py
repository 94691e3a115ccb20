"""Writes known entries and known duties for tests of pages."""

import uuid
from datetime import UTC, datetime, timedelta

from collection.care import core as choices
from collection.life.duties import DUTY_TITLES
from collection.life.summaries import summarise
from collection.models import DutyRow, Entry, Reading
from scheduler.duties.table import MODELS_VERSION
from tests.barn import TODAY

NOON = datetime(TODAY.year, TODAY.month, TODAY.day, 12, tzinfo=UTC)


def ago(days):
    return TODAY - timedelta(days=days)


def ahead(days):
    return TODAY + timedelta(days=days)


def write(car, by, kind, days_ago, *, recorded_after_days=0, readings=(), **values):
    done = NOON - timedelta(days=days_ago)
    entry = Entry.objects.create(
        vehicle=car,
        by=by,
        kind=kind,
        done_at=done,
        recorded_at=done + timedelta(days=recorded_after_days, minutes=5),
        idempotency_key=str(uuid.uuid4()),
        **values,
    )
    for reading in readings:
        Reading.objects.create(entry=entry, **reading)
    return entry


def give_duties(car, **windows):
    """Every duty as just computed; those named with (early, due, late), a hold or assumed, others far off."""
    far = (ahead(300), ahead(400), ahead(500))
    for duty in DUTY_TITLES:
        values = windows.get(duty, {})
        early, due, late = values.get("window", far)
        DutyRow.objects.create(
            vehicle=car,
            duty=duty,
            early=early,
            due=due,
            late=late,
            limit=values.get("limit", ""),
            hold=values.get("hold", ""),
            assumed=values.get("assumed", False),
            unknown=values.get("unknown", False),
            computed_for=TODAY,
            computed_at=NOON,
            models_version=MODELS_VERSION,
            fingerprint="known",
        )
    summarise([car.pk], TODAY)


def spoil(car):
    """A record that cannot be read: a date code whose week does not exist."""
    car.tyres.create(position="front_left", date_code="9926")


def passing(check):
    """What to type at a step of a recommissioning so that it passes."""
    if not choices.is_measured(check):
        return {"answer": check.judge.passes[0]}
    judge = check.judge
    low, high = judge.pass_low, judge.pass_high
    if low == float("inf"):
        low, high = judge.caution_low, judge.caution_high
    value = low + 1 if high == float("inf") else high if low == float("-inf") else (low + high) / 2
    return {"value": f"{value:.6g}", "unit": judge.unit}


def as_shown(html):
    """Text as a browser shows it: a line break in a template is a space."""
    return " ".join(html.split())

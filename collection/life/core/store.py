"""Writes the core's answers as computed rows, and reads an organisation's thresholds for it."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, fields
from datetime import date, datetime

import numpy as np
from django.db import transaction
from django.db.models import Q

from collection.life.core.gather import Gathered
from collection.life.core.once import once
from collection.life.core.own import own_rows
from collection.life.core.rule_words import RuleWords, rule_words
from collection.life.core.versions import settings_of
from collection.life.due_changes import listeners, note_changes, rows_before
from collection.life.summaries import save_summaries
from collection.models import DutyRow, Threshold
from scheduler.duties.known import unknown
from scheduler.duties.policy import Policy
from scheduler.duties.table import MODELS_VERSION
from scheduler.duties.windows import NOT_HELD, Bools, DutyWindow

__all__ = ["MODELS_VERSION", "as_date", "policies_on", "policy_of", "store"]

KEY = ("vehicle", "duty")
COMPUTED = (
    "early",
    "due",
    "late",
    "limit",
    "hold",
    "assumed",
    "unknown",
    "title",
    "minutes",
    "computed_for",
    "computed_at",
    "models_version",
    "fingerprint",
)
Run = tuple[int, int, Policy]
KNOWN_TERMS = {term.name for term in fields(Policy)}


def policy_of(organisation_pk: int) -> Policy:
    """The organisation's thresholds; the core's defaults where it has none of its own."""
    own = Threshold.objects.filter(organisation=organisation_pk, name__in=KNOWN_TERMS)
    return once(("policy", organisation_pk), lambda: Policy(**dict(own.values_list("name", "value"))))


def policies_on(organisation_pk: int, days: Sequence[date], *, by_now: bool = False) -> list[Policy]:
    """The thresholds in force on each of some days, as far as they were known then.

    ``by_now``: those that a day had by what is known now, which a correction may have set right.
    """
    written = settings_of(organisation_pk)
    if not written.sets_limits:
        return [policy_of(organisation_pk)] * len(days)
    made: dict[tuple[tuple[str, float], ...], Policy] = {}
    policies = []
    for day in days:
        own = (written if by_now else written.known_on(day)).thresholds_on(day)
        key = tuple((name, value) for name, value in own.items() if name in KNOWN_TERMS)
        policies.append(made.setdefault(key, Policy(**dict(key))))
    return policies


def runs_of(policies: Sequence[Policy]) -> Iterator[Run]:
    """Stretches of days under one policy each, as positions among the days, and the policy."""
    start = 0
    for end in range(1, len(policies) + 1):
        if end == len(policies) or policies[end] != policies[start]:
            yield start, end, policies[start]
            start = end


def as_date(day: float) -> date | None:
    """A day number as a date; nothing where the core says never, or beyond the calendar."""
    if np.isnan(day) or not date.min.toordinal() <= day <= date.max.toordinal():
        return None
    return date.fromordinal(int(np.floor(day)))


@dataclass(frozen=True)
class Answers:
    """What the core says of every duty of some cars, and what was decided of them in words."""

    windows: Mapping[str, DutyWindow]
    unknown: Mapping[str, Bools]
    decided: RuleWords


def store(gathered: Gathered, windows: Mapping[str, DutyWindow], *, today: date, now: datetime) -> None:
    """Replace the duties of these cars, all of them or none, and note what changed for those told of it.

    Those that keepers added are among them.
    """
    own = own_rows(gathered.vehicles)
    answers = Answers(windows, unknown(gathered.fleet, windows), rule_words(gathered.pks))
    rows = [
        row
        for index, pk in enumerate(gathered.pks)
        for row in _rows(pk, index, gathered.fingerprint(index), answers, today, now)
    ]
    for row in own:
        row.computed_for, row.computed_at, row.models_version = today, now, MODELS_VERSION
    rows += own
    with transaction.atomic():
        hooks = listeners(gathered.pks)
        before = rows_before(gathered.pks) if hooks else []
        DutyRow.objects.bulk_create(
            rows, batch_size=1000, update_conflicts=True, unique_fields=KEY, update_fields=COMPUTED
        )
        ended = ~Q(title="") & ~Q(duty__in=[row.duty for row in own])
        outdated = DutyRow.objects.filter(~Q(models_version=MODELS_VERSION) | ended)
        outdated.filter(vehicle__in=gathered.pks).delete()  # what is asked for no more
        save_summaries(rows, {car.pk: car for car in gathered.vehicles}, today)
        if hooks:
            note_changes(hooks, before, rows, today=today, now=now)


def _rows(
    pk: int, index: int, fingerprint: str, answers: Answers, today: date, now: datetime
) -> list[DutyRow]:
    decided = answers.decided
    return [
        DutyRow(
            vehicle_id=pk,
            duty=duty,
            early=as_date(window.early[index]),
            due=as_date(window.due[index]),
            late=as_date(window.late[index]),
            limit=decided.limit(pk, duty, _word(window.limits, window.limit[index])),
            hold=decided.hold(pk, duty, _word(window.holds, window.hold[index])),
            assumed=bool(window.assumed[index]),
            unknown=bool(answers.unknown[duty][index]),
            computed_for=today,
            computed_at=now,
            models_version=MODELS_VERSION,
            fingerprint=fingerprint,
        )
        for duty, window in answers.windows.items()
    ]


def _word(words: tuple[str, ...], position: int) -> str:
    """The one of the words that applies; empty where none does."""
    return "" if position == NOT_HELD else words[position]

"""What was decided of single duties of a car by a day, as its record was told."""

from datetime import date

from collection.life.core.dated import Record, day_or_none
from scheduler.life.log import NAN, ordinal
from scheduler.life.tables import Rule
from scheduler.vocabulary.duties import DUTY
from scheduler.vocabulary.errors import BadInput
from scheduler.vocabulary.intervals import NEVER, interval_days

PART = "rule."  # how the names of its fields begin; the duty follows


def rules_on(written: Record, day: date) -> list[Rule]:
    """The rules of a car that applied on a day. They stand in its record only, which opens with the first."""
    names = {
        name.split(".")[1] for entry in written.entries for name in entry["details"] if name.startswith(PART)
    }
    return [rule for duty in sorted(names & DUTY.keys()) if (rule := _rule(written, duty, day))]


def _rule(written: Record, duty: str, day: date) -> Rule | None:
    interval, not_before, put_off = (
        written.value_on(f"{PART}{duty}.{column}", day, None)
        for column in ("interval", "not_before", "put_off_until")
    )
    if not (interval or not_before or put_off):
        return None
    return Rule(
        duty,
        _days(interval),
        ordinal(day_or_none(not_before)),
        ordinal(day_or_none(put_off)),
        interval == NEVER,
    )


def _days(interval: str | None) -> float:
    """NaN where there is none; what came with a car may say what no form of ours would take."""
    try:
        return interval_days(interval) if interval and interval != NEVER else NAN
    except BadInput:
        return NAN

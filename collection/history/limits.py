"""How long the car stood beyond its limits: battery, fuel, tyre spots, and runs that warmed it through."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from itertools import pairwise

from collection.care.queries.care import day_of
from collection.due.queries.intervals import answered
from collection.history.core.exceeded import Beyond, battery_below, fuel_past
from collection.history.core.past import Past
from collection.history.grades import INFERENCE, STATEMENT
from collection.history.known import Known
from collection.history.scope import Scope
from collection.life.core.gather import stands_through
from collection.models import CareKind, Entry, LastEvent, Vehicle
from scheduler.vocabulary.care import KIND
from scheduler.vocabulary.duties import DUTY

DAYS_A_MONTH = 30.44
NO_EVIDENCE = "assumed: no charge and no reading is on record"
UNKNOWN = "not known: nothing on record tells it"


@dataclass(frozen=True)
class Limit:
    """One limit: ``said`` for the figure, ``sure`` for its range and from what it is known."""

    key: str
    title: str
    said: str
    sure: str
    grade: int


def limits(
    vehicle: Vehicle, entries: Sequence[Entry], past: Past, known: Known, first: date, last: date
) -> list[Limit]:
    """The four measures over a period; ``entries`` are the standing ones, oldest first.

    ValueError where the record does not allow the curves to be worked out.
    """
    inside = Scope(first, last)
    done = [entry for entry in entries if inside.covers(day_of(entry))]
    recharge, sulphation = battery_below(vehicle, first=first, last=last)
    stale = next(line for line in fuel_past(vehicle, first=first, last=last) if line.level == "stale")
    days = (last - first).days + 1
    return [
        _days("recharge", f"Battery below {recharge.line:.0%} of its charge", recharge, days),
        _days("sulphation", f"Battery below {sulphation.line:.0%}, where sulphate hardens", sulphation, days),
        _days("stale", "Stale fuel in the tank", stale, days),
        _spot(vehicle, done, past, first, last),
        _runs(done, known),
    ]


def _days(key: str, title: str, beyond: Beyond, days: int) -> Limit:
    if beyond.since is None:
        return Limit(key, title, UNKNOWN, "", INFERENCE)
    text = _count(beyond.likely_days)
    if beyond.assumed:
        least_most = f"{beyond.least_days} to {beyond.most_days}"
        return Limit(key, title, f"{text}, if it came full", f"{least_most}; {NO_EVIDENCE}", INFERENCE)
    range_said = f"{beyond.least_days} to {beyond.most_days} by the slowest and the fastest rates; "
    unknown = max(days - beyond.known_days, 0)  # of a long period every second day is looked at
    known = f"known for {_count(beyond.known_days)} since {_day(beyond.since)}, unknown for {unknown:,}"
    same = beyond.least_days == beyond.most_days
    return Limit(key, title, text, known if same else range_said + known, INFERENCE)


def _spot(vehicle: Vehicle, done: Sequence[Entry], past: Past, first: date, last: date) -> Limit:
    title = "Longest on one spot of its tyres"
    begin = max(first, vehicle.stored_since or first)
    lifted = stands_through(vehicle)
    if lifted == [(None, True)]:
        return Limit("spot", title, "not known: on stands now", "since when is not on record", STATEMENT)
    changed = {day for day, _ in lifted if day and begin < day < last}
    rolled = sorted({begin, last, *changed, *(day_of(entry) for entry in done if _rolls(entry))})
    stands = [
        (since, until) for since, until in pairwise(rolled) if until > since and not _lifted(lifted, since)
    ]
    if not stands:
        return Limit("spot", title, UNKNOWN, "", INFERENCE)
    since, until = max(stands, key=lambda stand: stand[1] - stand[0])
    over = sum(each.beyond_by_now for each in past.duties if _is_ended_by_a_move(each.duty))
    spent = f"{_count(over)} beyond what its tyres may stand on one patch" if over else "within its limit"
    months = (until - since).days / DAYS_A_MONTH
    return Limit("spot", title, f"{months:.1f} months", f"{_day(since)} to {_day(until)}; {spent}", INFERENCE)


def _is_ended_by_a_move(duty: str) -> bool:
    return any(answer.care == CareKind.MOVED for answer in DUTY[duty].answered_by)


def _lifted(lifted: Sequence[tuple[date | None, bool]], day: date) -> bool:
    """Whether the wheels were off the ground from a day on; also where that is said without a day."""
    return next((on for since, on in reversed(lifted) if since is None or since <= day), False)


def _rolls(entry: Entry) -> bool:
    moved = (event for event in KIND[entry.kind].events if event.name == LastEvent.MOVED)
    return any(all(entry.details.get(key) for key in event.when) for event in moved)


def _runs(done: Sequence[Entry], known: Known) -> Limit:
    runs = [entry for entry in done if entry.kind == CareKind.RUN_UP]
    warm = sum(bool(answered(entry)) for entry in runs)
    text = f"{warm} full-warm, {len(runs) - warm} short or idling" if runs else "none on record"
    counts = "; driven and warm right through counts; a short start brings water and no good" if runs else ""
    return Limit("runs", "Engine runs", text, f"{known.words}{counts}", STATEMENT)


def _count(days: int) -> str:
    return f"{days} day{'' if days == 1 else 's'}"


def _day(value: date) -> str:
    return f"{value.day} {value:%b %Y}"

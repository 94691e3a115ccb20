"""What a buyer asks first, each answered in a line: the first page of a history.

Nothing is judged as a whole. Each answer is put together from what the chapters behind it tell, so that the
page, the paper and the comparison say the same.
"""

from collections.abc import Sequence
from datetime import timedelta

from django.utils import timezone

from collection.care.queries.care import day_of
from collection.drawing.days import format_day
from collection.history.grades import RECORD
from collection.history.kept import count_days
from collection.history.missed import Missed
from collection.history.story import NOT_WORKED_OUT, Answer, Story
from collection.models import CareKind, Entry, Evidence
from collection.recommission.words import NOTHING_NOW
from collection.web.units import edge

WORST = 3  # lapses that the first page names


def answers(
    story: Story, entries: Sequence[Entry], evidence: Sequence[Evidence], *, units: str
) -> list[Answer]:
    """The questions in the order in which a buyer asks; ``entries`` are the standing ones of the period."""
    return [
        _stood(story),
        _driven(story, entries, evidence, units),
        _air(story),
        _care(story),
        _price(story),
        _trust(story),
    ]


def _stood(story: Story) -> Answer:
    lines = [_stored(story), story.condition.stood if story.condition else ""]
    told = [line for line in lines if line]
    known = story.known
    covered = (
        f"Of {count_days(known.days)}, {known.at_the_time:,} are covered by entries made at the time, "
        f"{known.told:,} by what was told later; {known.unknown:,} are unknown."
    )
    return Answer("stood", "How long has it stood?", told[0], (*told[1:], covered))


def _stored(story: Story) -> str:
    """Since when; only of the period where it is told from a later day on."""
    since, last = story.vehicle.stored_since, story.last
    if story.scope.first or since is None:
        return f"Told here from {format_day(story.first)} to {format_day(last)}."
    days = count_days((last - since).days)
    if story.vehicle.left_on == last:
        return f"In storage {format_day(since)} to {format_day(last)}, {days}."
    until = f" to {format_day(last)}, where this ends" if story.scope.last else ""
    return f"In storage since {format_day(since)}, {days}{until}."


def _driven(story: Story, entries: Sequence[Entry], evidence: Sequence[Evidence], units: str) -> Answer:
    runs = [entry for entry in entries if entry.kind == CareKind.RUN_UP]
    drives = [entry for entry in runs if entry.details.get("driven")]
    if drives:
        last = format_day(max(day_of(entry) for entry in drives))
        text = f"Driven {_times(len(drives))}{_how_far(drives, units)}, last on {last}."
    elif runs:
        text = f"No drive is on record here; run {_times(len(runs))} at rest."
    else:
        text = "No drive and no run is on record here."
    return Answer(
        "driven", "How often and how far was it driven?", text, (_odometer(story, evidence, units),)
    )


def _how_far(drives: Sequence[Entry], units: str) -> str:
    far = [entry.details["distance_km"] for entry in drives if entry.details.get("distance_km")]
    if not far:
        return ", no distance written down"
    silent = len(drives) - len(far)
    return f", {_distance(sum(far), units)} in all" + (
        f" ({_times(silent)} without a distance)" if silent else ""
    )


def _odometer(story: Story, evidence: Sequence[Evidence], units: str) -> str:
    """Its first and its last reading."""
    rows = [
        (row.on or timezone.localdate(row.recorded_at), row.odometer_km)
        for row in evidence
        if row.odometer_km is not None
    ]
    read = sorted(row for row in rows if story.scope.covers(row[0]))
    if not read:
        return "No odometer reading is on record."
    ends = [f"{_distance(far, units)} on {format_day(on)}" for on, far in (read[0], read[-1])]
    return f"Odometer {' to '.join(dict.fromkeys(ends))}."


def _distance(km: float, units: str) -> str:
    return edge(units).unit("km").format(km, ",.0f")


def _times(count: int) -> str:
    return "once" if count == 1 else "twice" if count == 2 else f"{count:,} times"


def _air(story: Story) -> Answer:
    drawn = next((strip for strip in story.years if strip.key == "air"), None)
    question, place = "In what air?", story.stays[-1] if story.stays else None
    if drawn is None:
        return Answer("air", question, NOT_WORKED_OUT if story.fault else "Less than a week is told here.")
    usual = f"Its place in a usual year: {place.air}. " if place and place.air else ""
    return Answer(
        "air", question, drawn.sentence, (f"{usual}Measured where a logger stood, else worked out.",)
    )


def _care(story: Story) -> Answer:
    question = "What care was done, what was missed?"
    if not story.kept:
        return Answer("missed", question, NOT_WORKED_OUT)
    done, asked, in_time, late = (
        sum(getattr(line, name) for line in story.kept) for name in ("done", "asked", "in_window", "late")
    )
    came = f"Care came {_times(done)}." if done else "No care is on record."
    text = f"{came} {_fell_due(story, asked, in_time, late)}"
    worst = sorted(_lapses(story), key=lambda gap: (-gap.days(story.last), gap.since))[:WORST]
    if not worst:
        return Answer("missed", question, f"{text} No lapse shows.")
    return Answer("missed", question, f"{text} Worst:", tuple(_lapse(story, gap) for gap in worst))


def _fell_due(story: Story, asked: int, in_time: int, late: int) -> str:
    if story.unasked >= story.known.days:
        return "Nothing is counted before the first entry."
    otherwise = asked - in_time - late
    ended = f", {otherwise:,} open or ended otherwise" if otherwise else ""
    met = f"A duty fell due {_times(asked)}: {in_time:,} met in the window, {late:,} late{ended}."
    begun = story.first + timedelta(days=story.unasked)
    return f"{met if asked else 'No duty fell due.'} Counted from {format_day(begun)}."


def _lapses(story: Story) -> list[Missed]:
    return [gap for gap in story.missed if gap.days(story.last) > 0 and not gap.unbegun]


def _lapse(story: Story, gap: Missed) -> str:
    until = format_day(gap.until) if gap.until else "now"
    ended = f" ({gap.ending})" if gap.ending else ""
    return f"{count_days(gap.days(story.last))}: {gap.title}, {format_day(gap.since)} to {until}{ended}"


def _price(story: Story) -> Answer:
    question, condition = "What will it probably cost next?", story.condition
    if condition is None:
        return Answer("price", question, story.untold)
    look = condition.look or "One look would settle little: no part is much in doubt."
    return Answer("price", question, _total(story), (look,))


def _total(story: Story) -> str:
    assert story.condition  # noqa: S101  # asked before
    total = story.condition.total
    if not total:
        return "Not told by the sender's choice."
    if total == NOTHING_NOW:
        return f"{total.capitalize()}."
    return f"Likely {total}." if story.condition.is_bounded else f"{total}; nobody knows what is likely."


def _trust(story: Story) -> Answer:
    standing = story.standing
    good = sum(doing.grade <= RECORD for doing in standing)
    made = (
        f"{good:,} of {len(standing):,} entries were made at the time with a reading or photograph."
        if standing
        else ""
    )
    parts = (made, f"{story.seal.brief}." if story.seal else "Nothing is chained yet.")
    return Answer("trust", "How far can I trust it?", _outside(story), tuple(part for part in parts if part))


def _outside(story: Story) -> str:
    if story.seal and story.seal.witnessed:
        since = format_day(timezone.localdate(story.seal.witnessed))
        return f"Witnessed from outside since {since}; before that it is the keeper's word."
    return "Nobody outside the house has witnessed it: it is the keeper's word."

"""What a buyer asks first, each answered in a line: the first page of a history.

Nothing is judged as a whole. Each answer is put together from what the chapters behind it tell, so that the
page, the paper and the comparison say the same.
"""

from collections.abc import Sequence

from collection.care.queries.care import day_of
from collection.drawing.templatetags.measures import distance
from collection.history.grades import RECORD
from collection.history.kept import count_days
from collection.history.known import Known
from collection.history.missed import Missed
from collection.history.story import Answer, Story
from collection.models import CareKind, Entry
from collection.web.templatetags.longstand import day

WORST = 3  # lapses that the first page names


def answers(
    story: Story, entries: Sequence[Entry], known: Known, *, odometer: str, units: str
) -> list[Answer]:
    """The questions in the order in which a buyer asks; ``entries`` are the standing ones of the period."""
    return [
        _stood(story, known),
        _driven(entries, odometer, units),
        _air(story),
        _lapses(story),
        _price(story),
        _trust(story),
    ]


def _stood(story: Story, known: Known) -> Answer:
    since = story.vehicle.stored_since if not story.scope.first else None  # that tells of before
    stored = f"In storage since {day(since)}, {count_days((story.last - since).days)}." if since else ""
    lines = [stored, story.condition.stood if story.condition else ""]
    told = [line for line in lines if line]
    told = told or [f"Told here from {day(story.first)} to {day(story.last)}."]
    covered = (
        f"Of the {count_days(known.days)} told here {known.at_the_time:,} are covered by entries made at the "
        f"time, {known.told:,} by what was told later, {known.unknown:,} by nothing."
    )
    return Answer("stood", "How long has it stood?", told[0], (*told[1:], covered))


def _driven(entries: Sequence[Entry], odometer: str, units: str) -> Answer:
    runs = [entry for entry in entries if entry.kind == CareKind.RUN_UP]
    drives = [entry for entry in runs if entry.details.get("driven")]
    if drives:
        last = day(max(day_of(entry) for entry in drives))
        text = f"Driven {_times(len(drives))}{_how_far(drives, units)}, last on {last}."
    else:
        text = (
            f"No drive is on record; run {_times(len(runs))} at rest."
            if runs
            else "No drive, no run is on record."
        )
    return Answer("driven", "How often and how far was it driven?", text, (odometer,))


def _how_far(drives: Sequence[Entry], units: str) -> str:
    far = [entry.details["distance_km"] for entry in drives if entry.details.get("distance_km")]
    if not far:
        return ", no distance written down"
    silent = len(drives) - len(far)
    return f", {distance(sum(far), units)} in all" + (
        f" ({_times(silent)} without a distance)" if silent else ""
    )


def _times(count: int) -> str:
    return "once" if count == 1 else "twice" if count == 2 else f"{count} times"


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]


def _air(story: Story) -> Answer:
    drawn = next((strip for strip in story.years if strip.key == "air"), None)
    place = story.stays[-1] if story.stays else None
    text = drawn.sentence if drawn else "Less than a week is told here."
    return Answer("air", "In what air?", text, (f"Now: {place.air}.",) if place and place.air else ())


def _lapses(story: Story) -> Answer:
    worst = sorted(story.missed, key=lambda gap: (-gap.days(story.last), gap.since))[:WORST]
    lines = tuple(_lapse(story, gap) for gap in worst if gap.days(story.last) > 0)
    question = "What was missed?"
    if not lines:
        return Answer("missed", question, "Nothing that the record can show.")
    return Answer("missed", question, f"{_capital(_counted(len(story.missed)))}, the longest:", lines)


def _counted(count: int) -> str:
    return "one lapse" if count == 1 else f"{count} lapses"


def _lapse(story: Story, gap: Missed) -> str:
    until = day(gap.until) if gap.until else "now"
    return f"{count_days(gap.days(story.last))}, {day(gap.since)} to {until}: {gap.what}"


def _price(story: Story) -> Answer:
    question, condition = "What will it probably cost next?", story.condition
    if condition is None:
        return Answer("price", question, "Not told: this history ends before today.")
    text = f"{_capital(condition.total)}." if condition.total else "Not told by the sender's choice."
    return Answer("price", question, text, (condition.look,) if condition.look else ())


def _trust(story: Story) -> Answer:
    good = sum(doing.grade <= RECORD for doing in story.doings if not doing.gone)
    all_of = sum(not doing.gone for doing in story.doings)
    made = f"{good} of {all_of} entries were made at the time with a reading or photograph." if all_of else ""
    words = story.seal.words if story.seal else "Nothing is chained yet."
    parts = (made, _outside(story))
    return Answer("trust", "How far can I trust it?", words, tuple(part for part in parts if part))


def _outside(story: Story) -> str:
    if story.seal and story.seal.witnessed:
        since = day(story.seal.witnessed)
        return f"Witnessed from outside since {since}; before that it is the keeper's word."
    kept = ", unchanged since it was chained" if story.seal else ""
    return f"Nobody outside the house has witnessed it: it is the keeper's word{kept}."

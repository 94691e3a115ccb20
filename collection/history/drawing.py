"""The whole period as one timeline: where it stood, what was missed, what was done."""

from collection.drawing.charts import Chart
from collection.drawing.timeline import Mark, Stretch, timeline
from collection.history.story import Story


def draw_timeline(story: Story) -> Chart:
    """The chart with its words and its table."""
    return timeline(marks(story), first=story.first, today=story.last, spells=spells(story))


def marks(story: Story) -> list[Mark]:
    """What was done; corrected entries count no more."""
    return [Mark(doing.day, doing.title, doing.by) for doing in story.doings if not doing.gone]


def spells(story: Story) -> list[Stretch]:
    """Stays and gaps inside the period."""
    first, last = story.first, story.last
    stays = [(stay.since, stay.until, "Stood", stay.place, False) for stay in story.stays]
    gaps = [(gap.since, gap.until, "Missed", gap.what, True) for gap in story.missed]
    cut = [
        Stretch(max(since or first, first), min(until or last, last), lane, text, bad)
        for since, until, lane, text, bad in (*stays, *gaps)
    ]
    return [spell for spell in cut if spell.first <= spell.last]

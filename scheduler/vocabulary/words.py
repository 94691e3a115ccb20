"""Words of the trade and of these pages that not everybody knows, each with its meaning.

Help lists them; a page opens the meaning where the word stands.
"""

from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True)
class Word:
    """One word; ``slug`` is its place in Help, ``also`` are other words for it, parted by strokes."""

    slug: str
    title: str
    meaning: str
    also: str = ""


WORDS = (
    Word(
        slug="care-log",
        title="Care log",
        meaning=(
            "What was done to a car, entry by entry. It only grows: a mistake is corrected by a later entry."
        ),
    ),
    Word(
        slug="assumed",
        title="Assumed",
        meaning="The record is silent, so a common value was taken. The reason names it.",
    ),
    Word(
        slug="bay",
        title="Bay",
        meaning="One place for one car. Bays stand in rows, rows in a building or yard.",
    ),
    Word(
        slug="chain",
        title="Chain",
        meaning=(
            "The entries of a car, each with a digest of itself and of the entry before it, so "
            "that a later change shows."
        ),
    ),
    Word(
        slug="condition-outlook",
        title="Condition outlook",
        meaning=(
            "What standing has probably done to each system of a car, in words, with what it needs next."
        ),
    ),
    Word(
        slug="duty",
        title="Duty",
        meaning="One kind of care that falls due: a charge, a run-up, brake fluid.",
    ),
    Word(
        slug="evidence-finding",
        title="Evidence, finding",
        meaning=(
            "Evidence dates an event: a tyre's date code, a receipt, a fuel smell. A finding is "
            "something wrong that was seen."
        ),
        also="evidence|finding",
    ),
    Word(
        slug="handing-over",
        title="Handing over",
        meaning="A car goes to another keeper with its record, log, photographs and signatures.",
    ),
    Word(
        slug="inspection",
        title="Inspection",
        meaning="A slow walk round one car, and what was seen.",
    ),
    Word(
        slug="kept-running",
        title="Kept running",
        meaning="A car that is run up under load from time to time. Earlier: exercised.",
        also="kept running: run up under load",
    ),
    Word(
        slug="laid-up",
        title="Laid up",
        meaning="A car that is preserved: inhibited, tagged, not started. Earlier: preserved.",
        also="laid up (preserved): inhibited, tagged, never started",
    ),
    Word(
        slug="limit",
        title="Limit",
        meaning=(
            "The line at which a curve counts as due or as harm: 75 % of charge, 3 % of water. "
            "Yours to change."
        ),
    ),
    Word(
        slug="maintainer",
        title="Maintainer",
        meaning="A small charger that stays on the battery. Also called a trickle or float charger.",
        also="maintainer charge",
    ),
    Word(
        slug="move",
        title="Move",
        meaning="Rolling a car off the spots that its tyres stand on.",
        also="move (tyres)",
    ),
    Word(
        slug="on-hold-held",
        title="On hold, held",
        meaning="Due by date, but not to be done as things stand; the reason is given.",
        also="on hold|held",
    ),
    Word(
        slug="operator",
        title="Operator",
        meaning=(
            "Whoever runs the installation. Not a role: an operator sees the record of no barn but "
            "as a member of it."
        ),
    ),
    Word(
        slug="recommissioning",
        title="Recommissioning",
        meaning="Bringing a car that stood too long back to use, step by step. Earlier: waking.",
    ),
    Word(
        slug="rested-volts",
        title="Rested volts",
        meaning=(
            "A battery's volts after it has stood without charge or load for hours. Only these "
            "tell its charge."
        ),
        also="volts of the battery at rest",
    ),
    Word(
        slug="round",
        title="Round",
        meaning="A person's way from car to car on a day, in walking order.",
    ),
    Word(
        slug="run-up",
        title="Run-up",
        meaning="The car driven until all of it is warm. A short idle is logged, and is not one.",
    ),
    Word(
        slug="standing-time",
        title="Standing time",
        meaning="How long a car has not moved, not run, or not been used on the road.",
    ),
    Word(
        slug="statement",
        title="Statement",
        meaning=(
            "A signed list, once a day, of where every chain ends. Whoever holds one can tell "
            "later whether anything before it was changed."
        ),
    ),
    Word(
        slug="stood-history-unknown",
        title="Stood, history unknown",
        meaning="A car of which nothing may be assumed. Earlier: dormant.",
        also="stood, history unknown: nothing may be assumed",
    ),
    Word(
        slug="warning-tag",
        title="Warning tag",
        meaning=(
            "A tag that hangs on the car: drained, part out, danger. While it is on, it forbids "
            "what it names."
        ),
        also="warning tag on",
    ),
    Word(
        slug="window",
        title="Window",
        meaning=(
            "The days between the earliest and the latest sensible day for a duty, with the likely "
            "one between."
        ),
    ),
)
WORD = {name.casefold(): word for word in WORDS for name in (word.title, *word.also.split("|")) if name}

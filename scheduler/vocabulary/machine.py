"""What a car is built with, beyond its fuel system: what recommissioning's steps and a search depend on.

A code with spaces for its strokes is the answer that a recommissioning's plan takes at the car.
"""

from dataclasses import dataclass

from scheduler.vocabulary.regimes import Choice


@dataclass(frozen=True, kw_only=True)
class BuildPart:
    """One part: its column of the record, what the record calls it, how the plan asks for it.

    ``also``: words by which tables may head its column, parted by strokes.
    """

    code: str
    title: str
    question: str
    choices: tuple[Choice, ...]
    also: str = ""

    @property
    def answers(self) -> tuple[str, ...]:
        """The answers of the plan."""
        return tuple(answer_of(choice.code) for choice in self.choices)


def answer_of(code: str) -> str:
    """A code as the plan's answer says it.

    >>> answer_of("chain_or_gears")
    'chain or gears'
    """
    return code.replace("_", " ")


BUILD = (
    BuildPart(
        code="earth",
        title="Earth side",
        question="Which pole of the battery goes to the body?",
        choices=(
            Choice(code="negative", title="Negative earth", also="negative|-|neg|negative ground"),
            Choice(code="positive", title="Positive earth", also="positive|+|pos|positive ground"),
        ),
        also="earth|polarity|earthing|ground|battery earth|earth polarity",
    ),
    BuildPart(
        code="generator",
        title="Generator",
        question="What charges the battery?",
        choices=(
            Choice(code="dynamo", title="Dynamo", also="generator"),
            Choice(code="alternator", title="Alternator"),
        ),
        also="charging|dynamo or alternator|dynamo/alternator|charging system",
    ),
    BuildPart(
        code="ignition",
        title="Ignition",
        question="What breaks the coil's current?",
        choices=(
            Choice(code="points", title="Contact breaker points", also="points|contact breaker"),
            Choice(code="electronic", title="Electronic ignition", also="electronic"),
        ),
        also="ignition system|ignition type|points or electronic",
    ),
    BuildPart(
        code="cooling",
        title="Cooling",
        question="How is the engine cooled?",
        choices=(
            Choice(code="water", title="Water-cooled", also="water|liquid"),
            Choice(code="air", title="Air-cooled", also="air"),
        ),
        also="engine cooling|cooled by",
    ),
    BuildPart(
        code="gearbox",
        title="Gearbox",
        question="Which gearbox?",
        choices=(
            Choice(code="manual", title="Manual gearbox", also="manual|stick"),
            Choice(code="automatic", title="Automatic gearbox", also="automatic|auto"),
        ),
        also="transmission|gearbox type|transmission type",
    ),
    BuildPart(
        code="cam",
        title="Camshaft drive",
        question="What drives the camshaft?",
        choices=(
            Choice(code="chain_or_gears", title="Chain or gears", also="chain|gears"),
            Choice(code="belt", title="Timing belt", also="belt|cam belt"),
        ),
        also="timing drive|cam drive|chain or belt",
    ),
    BuildPart(
        code="gas",
        title="Gas system",
        question="Is a gas (LPG) system fitted?",
        choices=(
            Choice(code="no_gas", title="No gas system", also="none|no"),
            Choice(code="gas_fitted", title="Gas system fitted (LPG)", also="yes|lpg|fitted"),
        ),
        also="lpg|gas|autogas|gas conversion",
    ),
    BuildPart(
        code="steering",
        title="Steering",
        question="Is the steering assisted?",
        choices=(
            Choice(code="unassisted", title="Unassisted steering", also="manual|no|unassisted"),
            Choice(code="power", title="Power steering", also="power|yes|assisted|pas"),
        ),
        also="power steering|pas|steering assistance",
    ),
    BuildPart(
        code="suspension",
        title="Suspension",
        question="How is it sprung?",
        choices=(
            Choice(code="springs", title="Springs", also="steel springs|conventional"),
            Choice(code="hydropneumatic", title="Hydropneumatic", also="oleopneumatic"),
        ),
        also="springing|suspension type",
    ),
)
BUILD_PART = {part.code: part for part in BUILD}

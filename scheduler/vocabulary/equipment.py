"""What a task may need besides staff; a site says how many of each it has."""

from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True)
class Equipment:
    """``code``: one of it, in the words of a plan; ``title``: all of them."""

    code: str
    title: str


CHARGER, MAINTAINER, EXTRACTION, LIFT = "charger", "maintainer", "exhaust place", "lift"

EQUIPMENT = (
    Equipment(code=CHARGER, title="Battery chargers"),
    Equipment(code=MAINTAINER, title="Battery maintainers"),
    Equipment(code=EXTRACTION, title="Exhaust places besides those at bays"),
    Equipment(code=LIFT, title="Lifts"),
)

"""What keepers add to the duties themselves: papers to renew, work by the handbook, anything typed."""

import re
from dataclasses import dataclass

PAPER, OTHER = "paper", "own"  # how the code of an own duty begins; a dash and its number follow
_CODE = re.compile(rf"(?:{PAPER}|{OTHER})-[0-9a-f]{{12}}", re.ASCII)
OWN_HARM_RANK = 9  # policy: after what spoils the car soon, before oils that age slowly
OWN_CARE = "own_duty"  # the kind of care that answers every one of them


@dataclass(frozen=True, kw_only=True)
class OwnKind:
    """A usual one, offered by name. ``paper``: a paper to renew, not work on the car.

    ``interval`` and ``minutes`` are suggestions (common practice); empty where law or handbook says it.
    """

    code: str
    title: str
    paper: bool = False
    interval: str = ""
    minutes: int | None = None
    also: str = ""  # headings of its day in tables, parted by strokes; where it has none, it has no column


OWN_KINDS = (
    OwnKind(
        code="roadworthiness",
        title="Roadworthiness test",
        paper=True,
        also="roadworthiness|test due|roadworthy until|inspection due",
    ),
    OwnKind(
        code="insurance",
        title="Insurance",
        paper=True,
        interval="1 year",
        also="insurance|insured until|insurance expires",
    ),
    OwnKind(
        code="registration", title="Registration", paper=True, also="registration expires|registered until"
    ),
    OwnKind(
        code="road_tax", title="Road tax", paper=True, interval="1 year", also="road tax|taxed until|tax due"
    ),
    OwnKind(code="valuation", title="Valuation", paper=True, interval="3 years", also="valuation due"),
    OwnKind(code="other_paper", title="Another paper", paper=True),
    OwnKind(code="timing_belt", title="Timing belt"),
    OwnKind(code="air_conditioning", title="Air-conditioning run", interval="1 month", minutes=15),
    OwnKind(code="hood", title="Soft top and seals", interval="6 months", minutes=30),
    OwnKind(code="fire_extinguisher", title="Fire extinguisher check", interval="1 year", minutes=10),
    OwnKind(code="other_work", title="Other work"),
)
OWN_KIND = {row.code: row for row in OWN_KINDS}


def is_own(code: str) -> bool:
    """Whether the code of a duty is that of one that a keeper added.

    >>> is_own("paper-00d1ab34c2f7"), is_own("charge")
    (True, False)
    """
    return _CODE.fullmatch(code) is not None

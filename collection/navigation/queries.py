"""One search over what a person may see: cars, owners, bays, notes."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from django.db.models import Prefetch, Q, QuerySet

from collection.models import UNMARKED, Bay, Entry, Owner, Vehicle
from collection.models.care import effective
from collection.permissions import Access

MOST = 20  # of each sort; more are found by more words
CAR = ("marque", "model", "year", "registration", "chassis_number")
PLACE = ("building__name", "building__site__name")
NOTES = ("notes",)
LONGEST_PLACE = 5  # digits
RECENT, LOOKED_THROUGH = 8, 60  # cars, and the entries in which they are looked for


@dataclass(frozen=True)
class Matches:
    """What fits every word, the first few of each sort, and whether there were more of any."""

    cars: list[Vehicle]
    owners: list[Owner]
    bays: list[Bay]
    notes: list[Vehicle]
    entries: list[Entry]
    more: bool

    @property
    def count(self) -> int:
        """How much is shown."""
        return len(self.cars) + len(self.owners) + len(self.bays) + len(self.notes) + len(self.entries)


def find(access: Access, text: str) -> Matches:
    """What holds every word of the text; a car that left storage is found too."""
    words = text.split()
    cars = access.vehicles().select_related("owner", "bay__building")
    here = access.vehicles().filter(left_on__isnull=True)
    bays = access.bays().exclude(row=UNMARKED).select_related("building__site")
    bays = bays.prefetch_related(Prefetch("vehicles", here, to_attr="standing"))
    entries = effective(access.entries()).select_related("vehicle", "by").order_by("-done_at")
    sorts = {
        "cars": _holding(cars, words, CAR),
        "owners": _holding(access.owners(), words, ("name",)),
        "bays": _holding(bays, words, PLACE, bay=True),
        "notes": _holding(cars, words, NOTES),
        "entries": _holding(entries, words, ("note",)),
    }
    some: dict[str, list[Any]] = {name: list(rows[: MOST + 1]) for name, rows in sorts.items()}
    more = any(len(rows) > MOST for rows in some.values())
    return Matches(**{name: rows[:MOST] for name, rows in some.items()}, more=more)


def recent(access: Access) -> list[Vehicle]:
    """The cars at which this person wrote something last, the latest first."""
    written = access.entries().filter(by=access.person).order_by("-recorded_at")
    latest = dict.fromkeys(written.values_list("vehicle", flat=True)[:LOOKED_THROUGH])
    cars = access.vehicles().select_related("bay__building").in_bulk(list(latest)[:RECENT])
    return [cars[pk] for pk in latest if pk in cars]


def _holding(
    rows: QuerySet[Any], words: Iterable[str], names: Iterable[str], *, bay: bool = False
) -> QuerySet[Any]:
    """Rows of which each word is somewhere in these fields, or names the bay as painted on the floor."""
    for word in words:
        holds = Q()
        for name in names:
            holds |= Q(**{f"{name}__icontains": word})
        if bay:
            holds |= _painted(word)
        rows = rows.filter(holds)
    return rows


def _painted(word: str) -> Q:
    """A3: row A, third place; a row alone is each of its places."""
    row = word.rstrip("0123456789")
    place = word[len(row) :]
    if row and place and len(place) <= LONGEST_PLACE:
        return Q(row__iexact=row, place=int(place))
    return Q(row__iexact=word)

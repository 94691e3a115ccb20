"""What the reader of a history may see: a period, and names or none.

All that a shared history says goes through its ``Scope``: a new statement that may name an owner, a place, a
person or money is made only where the scope allows it, free text through ``said``.
"""

import re
from dataclasses import dataclass
from datetime import date

from collection.models import Building, Climate, Entry, ShareLink, Site, Vehicle

WITHHELD = "[withheld]"
LONG_WORD = 4  # letters from which one word of an owner's name is hidden in free text by itself


@dataclass(frozen=True)
class Scope:
    """A period (None: without end) and what is told in it; ``hidden`` are names taken out of free text."""

    first: date | None = None
    last: date | None = None
    owner: bool = True
    place: bool = True
    prices: bool = True
    notes: bool = True
    files: bool = True  # names and bytes of photographs and documents; else only how many there are
    hidden: tuple[str, ...] = ()
    owner_person: int | None = None  # whose name stands as "the owner" where names are withheld

    def covers(self, day: date) -> bool:
        """Whether the day lies in the period."""
        return (self.first is None or self.first <= day) and (self.last is None or day <= self.last)

    def reaches(self, today: date) -> bool:
        """Whether the state of today may be told."""
        return self.last is None or self.last >= today

    def said(self, text: str) -> str:
        """Free text without the names that are withheld."""
        for name in self.hidden:
            text = re.sub(rf"(?<!\w){re.escape(name)}(?!\w)", WITHHELD, text, flags=re.IGNORECASE)
        return text

    def author(self, entry: Entry) -> str:
        """Who wrote an entry; an owner whose name is withheld is "the owner"."""
        if not self.owner and entry.by_id == self.owner_person:
            return "the owner"
        return self.said(str(entry.by))


EVERYTHING = Scope()


def scope_of(share: ShareLink) -> Scope:
    """The scope of a link."""
    vehicle = share.vehicle
    hidden: list[str] = []
    if not share.with_owner:
        hidden += _owner_names(vehicle)
    if not share.with_place:
        hidden += _place_names(vehicle)
    return Scope(
        first=share.first,
        last=share.last,
        owner=share.with_owner,
        place=share.with_place,
        prices=share.with_prices,
        notes=share.with_notes,
        files=share.with_files,
        hidden=tuple(sorted(set(hidden), key=len)[::-1]),
        owner_person=vehicle.owner.person_id,
    )


def _owner_names(vehicle: Vehicle) -> list[str]:
    owner = vehicle.owner
    full = [owner.name, owner.person.name if owner.person else ""]
    words = [word for name in full for word in re.findall(r"\w+", name) if len(word) >= LONG_WORD]
    return [name for name in (*full, *words) if name]


def _place_names(vehicle: Vehicle) -> list[str]:
    """The organisation's own name leads to the place as surely as the site's."""
    organisation = vehicle.organisation_id
    sites = Site.objects.filter(organisation=organisation).values_list("name", flat=True)
    climates = Climate.objects.filter(organisation=organisation).values_list("name", flat=True)
    buildings = Building.objects.filter(site__organisation=organisation).values_list("name", flat=True)
    return [vehicle.organisation.name, *sites, *buildings, *climates]

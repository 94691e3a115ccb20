"""Where a car stood, from the moves in its log: bays by day."""

from collections.abc import Iterable, Mapping, Sequence

from collection.life.core.told import Told
from collection.models import Bay, CareKind, Vehicle

RELATED = ("building__site__climate__measured__site", "building__measured__climate")
PREFETCH = ("building__site__climate__months", "building__measured__climate__months")
Bays = Mapping[int, Bay]


def moves(told: Iterable[Told]) -> list[Told]:
    """Those entries that are moves to another place."""
    return [
        one
        for one in told
        if one.entry["kind"] == CareKind.MOVED and not one.entry["details"].get("wheels_only")
    ]


def bays_of_moves(told: Mapping[int, Sequence[Told]], vehicles: Mapping[int, Vehicle]) -> Bays:
    """Every bay that a move names and that is still there, in the organisations of the cars."""
    named = [one.entry["details"] for log in told.values() for one in moves(log)]
    keys = {details.get(side) for details in named for side in ("from_bay", "to_bay")} - {None}
    if not keys:
        return {}
    owners = {vehicle.organisation_id for vehicle in vehicles.values()}
    bays = Bay.objects.filter(building__site__organisation__in=owners)
    return bays.select_related(*RELATED).prefetch_related(*PREFETCH).in_bulk(keys)


def stood(
    vehicle: Vehicle, known: Sequence[Told], whole: Sequence[Told], bays: Bays
) -> list[tuple[float, Bay | None]]:
    """Since when the car stood in which bay, the first for ever, by the moves ``known`` of the ``whole`` log.

    A bay that is no more, and none, is None. Where the record names another bay than the last move, it has
    the last word: since when is not on record, so it counts from that move.
    """
    here, every = moves(known), [one for one in moves(whole) if one.stands]
    if not here:
        return [(float("-inf"), _bay(every[0], "from_bay", bays) if every else vehicle.bay)]
    first = here[0].entry["details"].get("from_bay")
    stays = [(float("-inf"), _bay(here[0], "from_bay" if first else "to_bay", bays))]
    stays += [(one.day, _bay(one, "to_bay", bays)) for one in here]
    if every and here[-1].entry["id"] == every[-1].entry["id"]:
        stays[-1] = (stays[-1][0], vehicle.bay)
    return stays


def _bay(move: Told, side: str, bays: Bays) -> Bay | None:
    return bays.get(move.entry["details"].get(side) or 0)

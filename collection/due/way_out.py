"""How one car is got out: which cars are moved first, where they may wait, and the way back."""

from collections.abc import Mapping
from dataclasses import dataclass

from collection.drawing.floor import in_front
from collection.due.queries.floor_plan import FloorPlan, Place, Standing
from collection.models import Bay

ROOM_NAMED = 6  # free bays that are told: more than stand in front of most cars


@dataclass(frozen=True)
class WayOut:
    """``first``: what is moved before it, nearest to the door first; ``room``: where it may wait."""

    place: Place
    car: Standing
    first: list[Place]
    room: list[Bay]

    @property
    def back(self) -> list[Place]:
        """The same cars as they go back to their bays: the last one out goes in first."""
        return self.first[::-1]

    @property
    def stuck(self) -> list[Standing]:
        """The cars on the way, and the car itself, that may not be rolled."""
        cars = [place.standing for place in (*self.first, self.place) if place.standing]
        return [car for car in cars if car.stuck]

    @property
    def turns(self) -> dict[int, int]:
        """The number of each move by the bay that it empties."""
        return {place.bay.pk: turn for turn, place in enumerate((*self.first, self.place), 1)}


def way_out(plan: FloorPlan, vehicle: int) -> WayOut | None:
    """The moves that bring a car out of its bay; None where it stands in none of this site."""
    places = plan.places
    fronts = {key: place.fronts for key, place in places.items()}
    for place in places.values():
        if place.standing and place.standing.vehicle.pk == vehicle:
            ahead = in_front([place.bay.pk], fronts)
            first = [places[key] for key in ahead if key in places and places[key].standing]
            return WayOut(place, place.standing, first, _room(places, fronts, {place.bay.pk, *ahead}))
    return None


def _room(places: Mapping[int, Place], fronts: Mapping[int, tuple[int, ...]], way: set[int]) -> list[Bay]:
    """Free bays off the way, which a car reaches without another being moved."""
    free = (place for key, place in places.items() if not place.standing and key not in way)
    open_ = [
        place.bay
        for place in free
        if all(places[key].standing is None for key in in_front([place.bay.pk], fronts) if key in places)
    ]
    return open_[:ROOM_NAMED]

"""Places on the floor of a building that nobody painted: one for each car that stands there in no bay."""

from django.db.models import Max

from collection.models import UNMARKED, Bay, Building, Vehicle


def free_place(bay: Bay, car: Vehicle) -> Bay:
    """The bay; of the places on the floor of its building the car's own, or one where no other stands."""
    if bay.is_marked or car.left_on is not None:
        return bay
    Building.objects.select_for_update().get(pk=bay.building_id)  # two cars come at once: one waits
    floor = Bay.objects.filter(building=bay.building_id, row=UNMARKED).select_related("building__site")
    others = Vehicle.objects.filter(bay__in=floor, left_on__isnull=True).exclude(pk=car.pk)
    free = floor.exclude(pk__in=others.values("bay"))
    own = free.filter(vehicles=car.pk).first() if car.pk else None
    return own or free.order_by("place").first() or add_to_floor(bay.building)


def add_to_floor(building: Building) -> Bay:
    """A further place on the floor."""
    last = building.bays.filter(row=UNMARKED).aggregate(last=Max("place"))["last"] or 0
    return Bay.objects.create(building=building, row=UNMARKED, place=last + 1)


def floor_of(building: Building) -> Bay:
    """The place on the floor by which a building as a whole is named."""
    floor = building.bays.filter(row=UNMARKED).select_related("building__site").order_by("place")
    return floor.first() or add_to_floor(building)

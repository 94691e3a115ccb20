"""Who works when in the demo barn, with what, and where the keys hang."""

from datetime import date, time, timedelta

from collection.demo.people import Cast
from collection.life.duties import DUTY_TITLES
from collection.models import (
    Building,
    Equipment,
    EquipmentKind,
    Hand,
    Holiday,
    OpeningHours,
    OtherHours,
    Site,
    StormDay,
    Way,
)
from scheduler.vocabulary.duties import DUTIES

# minutes from Monday to Sunday: somebody is there each day, so the demo has a round on any day
WEEKS = {
    "Tobias Henn": (0, 300, 300, 300, 240, 0, 300),
    "Sanna Veldt": (240, 0, 240, 240, 240, 240, 0),
    "Odd Perrin": (0, 180, 0, 180, 0, 0, 180),
}
WEEKDAYS = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
NOT_FLUIDS = frozenset(duty.code for duty in DUTIES if duty.chart != "fluids") | {"stabiliser"}
MAY = {"Odd Perrin": NOT_FLUIDS}
EQUIPMENT = {
    EquipmentKind.CHARGER: 3,
    EquipmentKind.MAINTAINER: 12,
    EquipmentKind.EXHAUST_PLACE: 1,
    EquipmentKind.LIFT: 1,
}
COLDEST_YARD_C = -12.0  # valley people are used to frost
HOLIDAYS = (  # month and day, every year
    (1, 1, "New Year"),
    (5, 1, "First of May"),
    (8, 1, "Valley day"),
    (12, 24, "Christmas Eve"),
    (12, 25, "Christmas Day"),
    (12, 26, "St Stephen"),
    (12, 31, "New Year's Eve"),
)
WAYS = (("Long Barn", "Winter Room", 4), ("Long Barn", "Upper Yard", 6), ("Winter Room", "Upper Yard", 8))


def add_hands(site: Site, cast: Cast, today: date) -> None:
    """A small crew's week, the valley's holidays, one holiday-maker, a storm on its way."""
    for person in cast.keepers:
        week = dict(zip(WEEKDAYS, WEEKS[person.name], strict=True))
        Hand.objects.create(site=site, person=person, may=sorted(MAY.get(person.name, DUTY_TITLES)), **week)
    OpeningHours.objects.bulk_create(
        OpeningHours(site=site, weekday=day, opens=time(7, 30), closes=time(16, 30)) for day in range(7)
    )
    Equipment.objects.bulk_create(
        Equipment(site=site, kind=kind, count=count) for kind, count in EQUIPMENT.items()
    )
    Holiday.objects.bulk_create(
        Holiday(site=site, day=date(year, month, day), name=name)
        for year in (today.year, today.year + 1)
        for month, day, name in HOLIDAYS
        if date(year, month, day) != today  # a holiday today would leave the first look with nothing to do
    )
    away = today + timedelta(days=14 - today.weekday())
    OtherHours.objects.bulk_create(
        OtherHours(site=site, person=cast.keepers[0], day=away + timedelta(days=n), minutes=0)
        for n in range(5)
    )
    site.coldest_yard_c = COLDEST_YARD_C
    site.save(update_fields=["coldest_yard_c"])
    StormDay.objects.create(site=site, day=today + timedelta(days=1))
    houses = {house.name: house for house in Building.objects.filter(site=site)}
    Way.objects.bulk_create(
        Way(start=houses[start], end=houses[end], minutes=minutes) for start, end, minutes in WAYS
    )

"""The demo barn's valley, buildings and bays. The valley does not exist."""

from collection.care.actions.floor import add_to_floor
from collection.models import Bay, Building, Climate, ClimateMonth, Organisation, Shelter, Site

TIME_ZONE = "Europe/Zurich"  # the valley keeps Central European time

# An upland valley with a continental winter, invented for the demo. January first:
# mean, mean daily minimum, mean daily maximum °C, mean relative humidity %.
VALLEY = (
    (-6.8, -12.4, -1.6, 84),
    (-5.6, -11.6, 0.6, 80),
    (-1.0, -6.2, 4.6, 76),
    (4.2, -0.8, 9.4, 71),
    (9.6, 4.1, 15.3, 70),
    (13.0, 7.6, 18.6, 71),
    (15.1, 9.6, 20.9, 72),
    (14.6, 9.3, 20.3, 75),
    (10.7, 5.9, 16.0, 79),
    (5.8, 1.5, 10.6, 82),
    (-0.4, -4.4, 3.8, 85),
    (-5.2, -10.3, -0.6, 86),
)


def add_places(organisation: Organisation) -> tuple[Site, dict[str, Bay]]:
    """The site, and its bays by the label painted on the floor."""
    climate = Climate.objects.create(
        organisation=organisation, name="Kaldmere valley", basis="Invented for the demo: an upland valley."
    )
    ClimateMonth.objects.bulk_create(
        ClimateMonth(climate=climate, month=month, mean_c=mean, min_c=low, max_c=high, humidity_pct=humidity)
        for month, (mean, low, high, humidity) in enumerate(VALLEY, 1)
    )
    site = Site.objects.create(
        organisation=organisation, name="Kaldmere", time_zone=TIME_ZONE, climate=climate
    )
    bays = _long_barn(site) | _winter_room(site) | _yard(site)
    for building in site.buildings.all():
        add_to_floor(building)
    return site, bays


def _long_barn(site: Site) -> dict[str, Bay]:
    """Three rows deep with one door: A stands before B, B before C."""
    barn = Building.objects.create(site=site, name="Long Barn", shelter=Shelter.ENCLOSED, walk_order=1)
    bays = {}
    for place in range(1, 9):
        for row in "ABC":
            bays[f"{row}{place}"] = Bay.objects.create(
                building=barn,
                row=row,
                place=place,
                power_outlet=row == "A" or place % 2 == 0,
                exhaust_extraction=row in "AB" or place == 1,
            )
        bays[f"B{place}"].blocked_by.add(bays[f"A{place}"])
        bays[f"C{place}"].blocked_by.add(bays[f"B{place}"])
    return bays


def _winter_room(site: Site) -> dict[str, Bay]:
    room = Building.objects.create(
        site=site,
        name="Winter Room",
        shelter=Shelter.HUMIDITY_CONTROLLED,
        walk_order=2,
        heated_to_c=8,
        humidity_ceiling_pct=50,
    )
    bays = {
        f"W{place}": Bay.objects.create(
            building=room, row="W", place=place, power_outlet=True, exhaust_extraction=True
        )
        for place in range(1, 13)
    }
    bays["W12"].blocked_by.add(bays["W11"])
    return bays


def _yard(site: Site) -> dict[str, Bay]:
    yard = Building.objects.create(site=site, name="Upper Yard", shelter=Shelter.OPEN, walk_order=3)
    return {f"Y{place}": Bay.objects.create(building=yard, row="Y", place=place) for place in range(1, 7)}

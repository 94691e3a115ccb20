"""Everything that one site's plan depends on, read in a fixed number of queries."""

import hashlib
from collections import defaultdict
from dataclasses import dataclass, field
from datetime import date, time

from django.db.models import Q, QuerySet

from collection.care.queries.care import open_tags
from collection.life.core.store import policy_of
from collection.life.duties import PLANNED
from collection.models import (
    Bay,
    Building,
    DutyRow,
    Entry,
    Hand,
    Holiday,
    OtherHours,
    PinnedChoice,
    ReadyBy,
    Shelter,
    Site,
    StormDay,
    Vehicle,
    Way,
)
from collection.round.queries import staff as query
from collection.round.queries.outings import not_out
from scheduler.duties.policy import Policy
from scheduler.vocabulary.duties import DUTIES
from scheduler.vocabulary.tags import TAGS

PLAN_DAYS = 84  # twelve weeks, rolling
PLAN_VERSION = 2  # of the planner: raised, each site is planned anew
ANY_DUTY = DUTIES[-1].code  # every car has a row of each; all are worked out at one moment
NOT_MOVED = {tag.code for tag in TAGS if tag.stops_moving}


@dataclass(frozen=True)
class SiteFacts:
    """One site on one day, as the record has it."""

    site: Site
    today: date
    policy: Policy
    vehicles: list[Vehicle]
    duties: list[DutyRow]
    fronts: dict[int, list[int]]  # bay → bays in front
    buildings: list[Building]
    hands: list[Hand]
    others: list[OtherHours]
    holidays: list[Holiday]
    storms: list[StormDay]
    opening: dict[int, tuple[time, time]]
    equipment: dict[str, int]
    ways: list[Way]
    choices: list[PinnedChoice]
    wishes: list[ReadyBy]
    tags: list[Entry] = field(default_factory=list)

    def fingerprint(self) -> str:
        """A digest of all of it: the same facts give the same plan."""
        rows = (
            self.vehicles,
            self.duties,
            self.buildings,
            self.hands,
            self.others,
            self.holidays,
            self.storms,
            self.ways,
            self.choices,
            self.wishes,
        )
        parts = [str(PLAN_VERSION), str(self.today), repr(self.policy), repr(sorted(self.fronts.items()))]
        parts += [repr([_values(row) for row in table]) for table in rows]
        parts += [repr(sorted(self.equipment.items())), repr(sorted(self.opening.items()))]
        parts += [repr(self.site.coldest_yard_c), repr([(tag.pk, tag.vehicle_id) for tag in self.tags])]
        parts.append(repr([_values(bay) for car in self.vehicles if (bay := car.bay)]))
        parts.append(repr([_values(month) for month in self.site.climate.months.all()]))
        return hashlib.sha256("|".join(parts).encode()).hexdigest()


LEFT_OUT = {"id", "computed_at", "computed_for", "fingerprint"}  # what does not bear on a plan


def _values(row: object) -> list[tuple[str, str]]:
    return [(k, str(v)) for k, v in vars(row).items() if not k.startswith("_") and k not in LEFT_OUT]


def facts_of(site: Site, today: date) -> SiteFacts:
    """The site's facts on ``today``; duties must be fresh already."""
    vehicles = sorted(_vehicles(site), key=_walk)
    pks = [car.pk for car in vehicles]
    return SiteFacts(
        site=site,
        today=today,
        policy=policy_of(site.organisation_id),
        vehicles=vehicles,
        duties=list(
            DutyRow.objects.filter(PLANNED, vehicle__in=pks, due__isnull=False).order_by("vehicle", "duty")
        ),
        fronts=_fronts(site),
        buildings=list(query.buildings(site)),
        hands=list(query.hands_of(site)),
        others=list(query.other_hours(site, today)),
        holidays=list(query.holidays(site, today)),
        storms=list(query.storm_days(site, today)),
        opening=query.opening_of(site),
        equipment=dict(site.equipment.values_list("kind", "count")),
        ways=list(query.ways(site)),
        choices=query.live_choices(pks, today),
        wishes=list(ReadyBy.objects.filter(vehicle__in=pks, day__gte=today)),
        tags=[tag for tag in open_tags(vehicles) if tag.details.get("tag") in NOT_MOVED],
    )


def stamp_of(site: Site, today: date) -> str:
    """A digest of when the site's facts last changed: where it is the same, so is their fingerprint.

    Whatever changes a car, its log or its place works its dates out anew, so that the moments at
    which these were worked out stand for all that is known of the cars; the rest is read as it is. A new fact
    of the plan goes into the fingerprint and in here.
    """
    cars = _here(site).values_list("pk", "bay")
    computed = DutyRow.objects.filter(vehicle__in=_here(site), duty=ANY_DUTY).order_by("vehicle")
    parts = [
        str(PLAN_VERSION),
        str(today),
        repr(policy_of(site.organisation_id)),
        repr(_values(site)),
        repr(list(cars.order_by("pk"))),
        repr(list(computed.values_list("vehicle", "computed_at"))),
        repr(list(Bay.objects.filter(building__site=site).order_by("pk").values_list())),
        repr(sorted(_fronts(site).items())),
        repr(sorted(query.opening_of(site).items())),
        repr(list(site.equipment.order_by("pk").values_list())),
        repr(list(site.climate.months.order_by("pk").values_list())),
    ]
    tables = (
        query.buildings(site),
        query.hands_of(site),
        query.other_hours(site, today),
        query.holidays(site, today),
        query.storm_days(site, today),
        query.ways(site),
    )
    parts += [repr([_values(row) for row in table]) for table in tables]
    chosen = PinnedChoice.objects.filter(vehicle__in=_here(site)).order_by("pk")
    parts.append(repr(list(chosen.values_list())))
    wishes = ReadyBy.objects.filter(vehicle__in=_here(site), day__gte=today)
    parts.append(repr(list(wishes.values_list())))
    return hashlib.sha256("|".join(parts).encode()).hexdigest()


def _vehicles(site: Site) -> list[Vehicle]:
    return list(_here(site).select_related("bay__building"))


def _here(site: Site) -> QuerySet[Vehicle]:
    """Cars in the site's bays; the organisation's first site also has those in no bay; none that is out."""
    here = Q(bay__building__site=site)
    first = Site.objects.filter(organisation=site.organisation_id).first()
    if first == site:
        here |= Q(bay__isnull=True)
    cars = Vehicle.objects.filter(here, organisation=site.organisation_id, left_on__isnull=True)
    return not_out(cars)


def _walk(car: Vehicle) -> tuple[bool, int, str, int, str, int, int]:
    bay: Bay | None = car.bay
    if bay is None:
        return True, 0, "", 0, "", 0, car.pk
    house = bay.building
    return False, house.walk_order, house.name, len(bay.row), bay.row, bay.place, car.pk


def _fronts(site: Site) -> dict[int, list[int]]:
    links = Bay.blocked_by.through.objects.filter(from_bay__building__site=site).order_by("pk")
    fronts: dict[int, list[int]] = defaultdict(list)
    for behind, front in links.values_list("from_bay_id", "to_bay_id"):
        fronts[behind].append(front)
    return dict(fronts)


def is_open_air(building: Building) -> bool:
    """Whether rain, frost and storm reach who works there."""
    return bool(building.shelter == Shelter.OPEN)

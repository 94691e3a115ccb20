"""The rows that a recommissioning is computed from, in a fixed number of queries."""

from dataclasses import dataclass

from django.db.models import Q, QuerySet

from collection.care.queries.care import open_tags
from collection.due.queries.prices import own_rates
from collection.models import (
    CareKind,
    Entry,
    Evidence,
    Fuel,
    HandbookValue,
    LastUse,
    RecommissionCase,
    Regime,
    Site,
    Vehicle,
)
from collection.models.care import effective
from collection.permissions import Access
from scheduler.vocabulary.care import CARE

KINDS = tuple(row.code for row in CARE if row.of_recommissioning)
ATTENDED = tuple(row.code for row in CARE if row.attended)
CARE_SET_UP = "regime_chosen"


@dataclass(frozen=True)
class RecommissioningRecord:
    """One car's evidence, log of recommissioning (oldest first), tags, and what is set for it."""

    vehicle: Vehicle
    evidence: list[Evidence]
    entries: list[Entry]
    tags: list[Entry]
    last_uses: list[LastUse]
    case: RecommissionCase | None
    fuel: Fuel | None
    handbook: list[HandbookValue]
    inspections: list[Entry]  # those that stand, oldest first
    rates: dict[str, float]  # the organisation's own, by name
    known: bool  # whether anybody was at the car, or anything tells when it was last used


def recommissioning_record(vehicle: Vehicle) -> RecommissioningRecord:
    """Every row that the recommissioning of a car is computed from."""
    return RecommissioningRecord(
        vehicle,
        list(evidence_of(vehicle)),
        recommissioning_entries(vehicle),
        list(open_tags([vehicle])),
        list(vehicle.last_uses.order_by("event")),
        case_of(vehicle),
        Fuel.objects.filter(vehicle=vehicle).first(),
        list(vehicle.handbook_values.all()),
        inspections_of(vehicle),
        own_rates(vehicle.organisation),
        is_known(vehicle),
    )


def is_known(vehicle: Vehicle) -> bool:
    """Whether anybody was at the car since it came, or anything tells when it was last used."""
    seen = effective(vehicle.entries.filter(kind__in=ATTENDED))
    return seen.exists() or vehicle.last_uses.exists() or evidence_of(vehicle).exists()


def dormant_cars(access: Access, site: Site) -> list[Vehicle]:
    """The cars at a site, or in no bay, that wait to be recommissioned."""
    here = Q(bay__isnull=True) | Q(bay__building__site=site)
    cars = access.vehicles().filter(here, regime=Regime.DORMANT, left_on__isnull=True)
    walked = ("bay__building__name", "bay__row", "bay__place", "pk")
    return list(cars.select_related("bay__building").order_by(*walked))


def case_of(vehicle: Vehicle) -> RecommissionCase | None:
    """How the car was put away, where somebody wrote it down."""
    return RecommissionCase.objects.filter(vehicle=vehicle).first()


def inspections_of(vehicle: Vehicle) -> list[Entry]:
    """The inspections that stand, oldest first."""
    looks = effective(vehicle.entries.filter(kind=CareKind.INSPECTED))
    return list(looks.order_by("done_at", "recorded_at"))


def evidence_of(vehicle: Vehicle) -> QuerySet[Evidence]:
    """The evidence that stands: neither replaced nor withdrawn."""
    standing = vehicle.evidence.filter(corrected_by__isnull=True, withdrawn=False)
    return standing.select_related("by", "document")


def recommissioning_entries(vehicle: Vehicle) -> list[Entry]:
    """The standing entries of this recommissioning, oldest first.

    It ends with the check that sets up the car's care; a dormant car whose last one has ended begins again
    after it.
    """
    entries = effective(vehicle.entries.filter(kind__in=KINDS)).select_related("by")
    # a phone's clock that was wrong must not make its result outlast a later one
    log = sorted(entries, key=lambda entry: (entry.done_by_our_clock, entry.recorded_at, entry.pk))
    if vehicle.regime != Regime.DORMANT:
        return log
    ends = [i for i, entry in enumerate(log) if entry.details.get("check") == CARE_SET_UP]
    return log[ends[-1] + 1 :] if ends else log

"""Cars for the list, and the parts of one car with what is known of each."""

from collections.abc import Iterable

from django.db.models import Count, Exists, OuterRef, Q, QuerySet
from django.db.models.functions import Lower

from collection.models import (
    Battery,
    CareKind,
    CarRule,
    Entry,
    Fluid,
    FluidKind,
    Fuel,
    KindRule,
    LastEvent,
    LastUse,
    OwnDuty,
    Tyre,
    TyrePosition,
    Vehicle,
)
from collection.models.care import effective
from collection.permissions import Access

TEXT_FIELDS = ("marque", "model", "registration", "chassis_number", "owner__name", "year")


def cars_listed(
    access: Access,
    *,
    site: int | None = None,
    owner: int | None = None,
    regime: str = "",
    text: str = "",
    left: bool = False,
) -> QuerySet[Vehicle]:
    """Cars in storage (with ``left`` also those gone) with what has been recorded of each."""
    cars = access.vehicles().select_related("owner", "bay__building__site")
    if not left:
        cars = cars.filter(left_on__isnull=True)
    wanted = {"bay__building__site": site, "owner": owner, "regime": regime}
    cars = cars.filter(**{name: value for name, value in wanted.items() if value})
    for word in text.split():
        cars = cars.filter(_matches(word))
    return cars.annotate(**_recorded()).order_by("marque", "model", "year", "pk")


def _matches(word: str) -> Q:
    matches = Q()
    for name in TEXT_FIELDS:
        matches |= Q(**{f"{name}__icontains": word})
    return matches


def _recorded() -> dict[str, Exists]:
    """Whether each part of the record has been begun."""
    return {
        "has_battery": Exists(Battery.objects.filter(vehicle=OuterRef("pk"), removed_on__isnull=True)),
        "has_fuel": Exists(Fuel.objects.filter(vehicle=OuterRef("pk"))),
        "has_fluids": Exists(Fluid.objects.filter(vehicle=OuterRef("pk"))),
        "has_tyres": Exists(Tyre.objects.filter(vehicle=OuterRef("pk"))),
        "has_last": Exists(LastUse.objects.filter(vehicle=OuterRef("pk"))),
    }


def battery_of(vehicle: Vehicle) -> Battery:
    """The battery in the car, or a new one of which nothing is known."""
    return vehicle.batteries.filter(removed_on__isnull=True).first() or Battery(vehicle=vehicle)


def fuel_of(vehicle: Vehicle) -> Fuel:
    """The fuel in the tank, or a new row of which nothing is known."""
    return Fuel.objects.filter(vehicle=vehicle).first() or Fuel(vehicle=vehicle)


def fluids_of(vehicle: Vehicle) -> list[Fluid]:
    """One row a fluid, in the order they are met under the bonnet."""
    known = {fluid.kind: fluid for fluid in vehicle.fluids.all()}
    return [known.get(kind) or Fluid(vehicle=vehicle, kind=kind) for kind in FluidKind.values]


def tyres_of(vehicle: Vehicle) -> list[Tyre]:
    """One row a wheel, walking round the car, the spare last."""
    known = {tyre.position: tyre for tyre in vehicle.tyres.all()}
    round_the_car = (
        TyrePosition.FRONT_LEFT,
        TyrePosition.REAR_LEFT,
        TyrePosition.REAR_RIGHT,
        TyrePosition.FRONT_RIGHT,
        TyrePosition.SPARE,
    )
    return [known.get(place.value) or Tyre(vehicle=vehicle, position=place.value) for place in round_the_car]


def last_uses_of(vehicle: Vehicle) -> list[LastUse]:
    """One row an event."""
    known = {use.event: use for use in vehicle.last_uses.all()}
    return [known.get(event) or LastUse(vehicle=vehicle, event=event) for event in LastEvent.values]


def rule_of(vehicle: Vehicle, duty: str) -> CarRule:
    """What is decided of one duty of a car, or a new row with nothing decided."""
    known = vehicle.rules.select_related("by", "kind").filter(duty=duty).first()
    return known or CarRule(vehicle=vehicle, duty=duty)


def car_rules_listed(access: Access) -> QuerySet[CarRule]:
    """What is decided for single cars, by car."""
    rules = access.car_rules().filter(kind=None, vehicle__left_on__isnull=True)
    return rules.select_related("vehicle", "by").order_by(
        "vehicle__marque", "vehicle__model", "vehicle", "duty"
    )


def kind_rules_listed(access: Access) -> QuerySet[KindRule]:
    """What is decided for kinds of car, with ``count``, how many have it."""
    here = Count("cars", filter=Q(cars__vehicle__left_on__isnull=True))
    rules = access.kind_rules().annotate(count=here)
    return rules.select_related("by").order_by("marque", "model", "regime", "duty")


def done_for(duty: OwnDuty) -> QuerySet[Entry]:
    """What was logged for a duty that a keeper added, latest first."""
    entries = Entry.objects.filter(vehicle=duty.vehicle_id, kind=CareKind.OWN_DUTY, details__own=duty.code)
    return effective(entries).select_related("by").prefetch_related("attachments").order_by("-done_at")


def cars_of_kind(kind: KindRule) -> QuerySet[Vehicle]:
    """The cars in storage to which all that names the kind applies."""
    cars = Vehicle.objects.filter(organisation=kind.organisation_id, left_on__isnull=True)
    if kind.marque:
        cars = cars.filter(marque__iexact=kind.marque)
    if kind.model:
        cars = cars.filter(model__iexact=kind.model)
    return cars.filter(regime=kind.regime) if kind.regime else cars


def kinds_of(vehicle: Vehicle) -> Iterable[KindRule]:
    """The rules of the kinds to which a car belongs, the narrowest first, then the latest."""
    rules = KindRule.objects.filter(organisation=vehicle.organisation_id, regime__in=("", vehicle.regime))
    named = rules.annotate(make=Lower("marque"), type=Lower("model")).filter(
        make__in=("", vehicle.marque.lower()), type__in=("", vehicle.model.lower())
    )
    return sorted(named, key=_narrowness, reverse=True)


def _narrowness(kind: KindRule) -> tuple[int, int]:
    return sum(map(bool, (kind.marque, kind.model, kind.regime))), kind.pk

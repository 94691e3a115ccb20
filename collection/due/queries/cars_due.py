"""What is due gathered car by car, and the whole in one line; a page at a time, the rest only counted."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from itertools import groupby
from typing import Any

from django.db.models import Case, CharField, Count, F, Min, OuterRef, Q, QuerySet, Sum, Value, When
from django.db.models.functions import Cast, Coalesce, Concat

from collection.life.duties import (
    COUNTED,
    HARM_NEAR,
    HARMS,
    INSPECTION,
    STATE_ORDER,
    THIS_MONTH,
    THIS_WEEK,
    DutyLine,
    Summary,
    lines,
)
from collection.life.first_states import first_state
from collection.models import DutyRow, Vehicle
from collection.permissions import Access
from collection.web.sorting import Sorting
from scheduler.vocabulary.duties import DUTIES
from scheduler.vocabulary.own_duties import OTHER, OWN_HARM_RANK

FIRST_RANK = 1000  # so that ranks sort as text, too
PRESSING = ("act_now", "this_week")
BY = Coalesce("late", "due")  # ``DutyLine.by`` in the database's words


@dataclass(frozen=True)
class Wanted:
    """Which cars and duties somebody wants to see; empty for all. ``owner`` is a key or part of a name.

    ``duty`` is its code, ``OTHER`` for all that keepers added. ``horizon_days``: to be done by then;
    ``likely_days``: whose likely date lies before then.
    """

    site: int | None = None
    owner: int | str | None = None
    duty: str = ""
    horizon_days: int | None = None
    likely_days: int | None = None

    @property
    def of_cars(self) -> dict[str, Any]:
        """What is asked of the car."""
        named = "owner__name__icontains" if isinstance(self.owner, str) else "owner"
        asked = {"bay__building__site": self.site, named: self.owner}
        return {name: value for name, value in asked.items() if value}

    def of_duties(self, today: date) -> Q:
        """What is asked of the duty: only these lines count, and put the cars in order."""
        asked = Q(duty=self.duty) if self.duty else Q()
        if self.duty == OTHER:
            asked = ~Q(title="")
        if self.horizon_days is not None:
            by = today + timedelta(days=self.horizon_days)
            asked &= Q(late__lte=by) | Q(late__isnull=True, due__lte=by)
        if self.likely_days is not None:
            asked &= Q(due__lte=today + timedelta(days=self.likely_days))
        return asked


@dataclass(frozen=True)
class CarDue:
    """One car: its most urgent duty, and what else presses."""

    vehicle: Vehicle
    first: DutyLine
    pressing: list[DutyLine] = field(default_factory=list)

    @property
    def pressing_by_state(self) -> list[tuple[str, list[DutyLine]]]:
        """What else presses, by state."""
        return [(state, list(some)) for state, some in groupby(self.pressing, lambda line: line.state)]


def cars_in_order(access: Access, wanted: Wanted, today: date) -> QuerySet[Any, int]:
    """The keys of the cars with anything wanted, most urgent first; duties must be fresh."""
    if wanted.of_duties(today):
        first = Min(
            Concat(
                Cast(_rank(today) + FIRST_RANK, CharField()),
                Coalesce(Cast(BY, CharField()), Value("9999-12-31")),
                "duty",
            )
        )
        rows = _rows(access, wanted, today).order_by()
        return (
            rows.values("vehicle")
            .annotate(first=first)
            .order_by("first", "vehicle")
            .values_list("vehicle", flat=True)
        )
    asked = {f"vehicle__{name}": value for name, value in wanted.of_cars.items()}
    summed = access.car_summaries().filter(**asked)
    return summed.order_by("rank", "due", "duty", "vehicle").values_list("vehicle", flat=True)


def cars_by_column(access: Access, wanted: Wanted, today: date, order: Sorting) -> QuerySet[Any, int]:
    """The same cars by a column of the list; ``by`` is the first date of what is wanted of each."""
    rows = DutyRow.objects.filter(wanted.of_duties(today), vehicle=OuterRef("pk")).annotate(by=BY)
    first = rows.order_by(F("by").asc(nulls_last=True)).values("by")[:1]
    cars = access.vehicles().filter(pk__in=cars_in_order(access, wanted, today).order_by())
    return order.rows(cars.annotate(by=first)).values_list("pk", flat=True)


def counted(access: Access, wanted: Wanted, today: date) -> Summary:
    """The count over everything wanted, made by the database."""
    if not wanted.of_duties(today):
        cars = access.vehicles().filter(left_on__isnull=True, **wanted.of_cars)
        sums = {name: Coalesce(Sum(f"summary__{name}"), 0) for name in COUNTED}
        return Summary(**cars.aggregate(cars=Count("summary"), **sums))
    counts = {name: Count("pk", filter=Q(state=STATE_ORDER.index(name))) for name in COUNTED}
    rows = _rows(access, wanted, today).annotate(state=_state(today))
    return Summary(**rows.aggregate(cars=Count("vehicle", distinct=True), **counts))


def cars_due(access: Access, pks: Sequence[int], wanted: Wanted, today: date) -> list[CarDue]:
    """These cars with what is wanted of each, in the order of their most urgent line."""
    cars = access.vehicles().filter(pk__in=pks).select_related("owner", "bay__building").in_bulk()
    rows = list(DutyRow.objects.filter(wanted.of_duties(today), vehicle__in=cars))
    for row in rows:
        row.vehicle = cars[row.vehicle_id]
    place = {pk: at for at, pk in enumerate(pks)}
    return sorted(by_car(lines(rows, today)), key=lambda car: place[car.vehicle.pk])


def lines_wanted(access: Access, wanted: Wanted, today: date) -> list[DutyLine]:
    """Every line of it, most urgent first, each with its car, owner and place; for lists, not for pages."""
    rows = _rows(access, wanted, today).select_related("vehicle__owner", "vehicle__bay__building__site")
    return lines(rows, today)


def duties_in_order(
    access: Access, wanted: Wanted, today: date, *, state: str = "", first: str = ""
) -> QuerySet[DutyRow]:
    """Rows with their cars, most urgent first, put in order by the database.

    ``state``: only those in it; ``first``: the same by the names that were promised first.
    """
    rows = _rows(access, wanted, today).annotate(rank=_rank(today))
    if state:
        rows = rows.annotate(state=_state(today)).filter(state=STATE_ORDER.index(state))
    if first:
        rows = rows.annotate(first=first_state(today)).filter(first=first)
    in_order = rows.order_by("rank", BY.asc(nulls_last=True), "duty", "vehicle", "pk")
    return in_order.select_related("vehicle")


def _rows(access: Access, wanted: Wanted, today: date) -> QuerySet[DutyRow]:
    asked = {f"vehicle__{name}": value for name, value in wanted.of_cars.items()}
    return access.duties().filter(wanted.of_duties(today), **asked)


def _state(today: date) -> Case:
    """``life.duties.state_of`` in the database's words: the place of a row's state in their order."""
    days = {"act_now": HARM_NEAR, "this_week": THIS_WEEK, "this_month": THIS_MONTH}
    states = {"on_hold": ~Q(hold=""), "unknown": Q(unknown=True)} | {
        name: Q(late__lte=today + ahead) | Q(late__isnull=True, due__lte=today + ahead)
        for name, ahead in days.items()
    }
    whens = [When(asked, then=Value(STATE_ORDER.index(state))) for state, asked in states.items()]
    return Case(*whens, default=Value(STATE_ORDER.index("later")))


def _rank(today: date) -> Any:
    """``life.duties.order_of`` in the database's words."""
    whole_car = When(duty=INSPECTION, unknown=True, hold="", then=Value(0))
    harms = [When(duty=duty.code, then=Value(duty.harm_rank)) for duty in DUTIES]
    own = When(~Q(title=""), then=Value(OWN_HARM_RANK))
    return _state(today) * HARMS + Case(whole_car, *harms, own, default=Value(HARMS - 1))


def by_car(lines: Iterable[DutyLine]) -> list[CarDue]:
    """Cars in the order of their most urgent line; ``lines`` come most urgent first."""
    cars: dict[int, CarDue] = {}
    for line in lines:
        car = cars.setdefault(line.vehicle.pk, CarDue(line.vehicle, line))
        if car.first is not line and line.state in PRESSING:
            car.pressing.append(line)
    return list(cars.values())


def most_pressing(cars: QuerySet[Vehicle], duties: Q, today: date) -> QuerySet[Any, int]:
    """The keys of these cars by what presses most of some duties; cars without any of them stand last."""
    rows = DutyRow.objects.filter(duties, vehicle=OuterRef("pk")).annotate(rank=_rank(today))
    rows = rows.annotate(by=BY)
    first = rows.order_by("rank", F("by").asc(nulls_last=True))
    ordered = cars.annotate(rank=first.values("rank")[:1], by=first.values("by")[:1])
    by = (F("rank").asc(nulls_last=True), F("by").asc(nulls_last=True), "pk")
    return ordered.order_by(*by).values_list("pk", flat=True)

"""Sums up the duties of a car: what presses most and how much, so that long lists are quick.

``CarSummary`` holds one row a car: the due list is put in order and counted by it, and whether dates are
fresh is asked of it. Whoever writes duties by another way than ``life.store`` calls ``summarise`` (tests:
``logbook.give_duties``).
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from datetime import date

from collection.life.duties import COUNTED, lines, order_of, summary
from collection.models import CarSummary, DutyRow, Vehicle

SUMMED = (
    "organisation",
    "rank",
    "due",
    "duty",
    *COUNTED,
    "computed_for",
    "models_version",
    "summed_for",
)


def summarise(cars: Iterable[int], today: date) -> None:
    """Sum up these cars from the duties as they stand, whether or not these are fresh."""
    rows = DutyRow.objects.filter(vehicle__in=cars).select_related("vehicle").order_by("vehicle", "duty")
    listed = list(rows)
    save_summaries(listed, {row.vehicle_id: row.vehicle for row in listed}, today)


def invalidate(cars: Iterable[int]) -> None:
    """Drop what was computed of these cars, sums too: it is computed anew as soon as anybody looks."""
    DutyRow.objects.filter(vehicle__in=cars).delete()
    CarSummary.objects.filter(vehicle__in=cars).delete()


def save_summaries(rows: Iterable[DutyRow], vehicles: Mapping[int, Vehicle], today: date) -> None:
    """Sum up the cars whose duties these are, all of each car's; in the order of their keys."""
    by_car: dict[int, list[DutyRow]] = defaultdict(list)
    for row in rows:
        by_car[row.vehicle_id].append(row)
    CarSummary.objects.bulk_create(
        (_summary(vehicles[pk], by_car[pk], today) for pk in sorted(by_car)),
        batch_size=1000,
        update_conflicts=True,
        unique_fields=["vehicle"],
        update_fields=SUMMED,
    )


def _summary(vehicle: Vehicle, rows: list[DutyRow], today: date) -> CarSummary:
    for row in rows:
        row.vehicle = vehicle
    duties = lines(rows, today)
    first, counted = duties[0], summary(duties)
    return CarSummary(
        vehicle=vehicle,
        organisation_id=vehicle.organisation_id,
        rank=order_of(first.state, first.duty),
        due=first.by or date.max,
        duty=first.duty,
        **{name: getattr(counted, name) for name in COUNTED},
        computed_for=min(row.computed_for for row in rows),
        models_version=min(row.models_version for row in rows),
        summed_for=today,
    )

"""An accepted logger becomes a place's climate; withdrawn, the place has its former one again."""

from collections.abc import Sequence
from datetime import date

import numpy as np
from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import QuerySet

from collection.care.actions.record import Edit
from collection.care.actions.settings import settings_recorded
from collection.drawing.days import format_day
from collection.life.core.kept_hours import hours_of_files
from collection.life.core.measured_air import accepted_files, coverage, digest_of, normals_of, reckoned_inside
from collection.life.core.places import months_of, reckoned_place
from collection.loggers.actions.files import drop_raw
from collection.models import (
    Building,
    Climate,
    ClimateMonth,
    LoggerFile,
    LoggerState,
    MeasuredClimate,
    Site,
    Vehicle,
)
from collection.places.actions.places import refresh_cars

NOT_READ = "This file has not been read yet, or could not be: wait, or choose how it is to be read."
UNDECIDED = "Say first whether the day or the month comes first in its dates."


@transaction.atomic
def accept_air(*, file: LoggerFile, edit: Edit, today: date) -> MeasuredClimate:
    """Take a file of air into the forecast of its place; ValidationError says what stands in the way."""
    locked = LoggerFile.objects.select_for_update().get(pk=file.pk)
    if locked.state != LoggerState.READ:
        raise ValidationError(NOT_READ)
    if locked.layout.get("undecided"):
        raise ValidationError(UNDECIDED)
    locked.state, locked.accepted_at = LoggerState.ACCEPTED, edit.now
    raw = locked.raw
    locked.raw = ""
    locked.save()
    place = locked.site or locked.building
    with settings_recorded(_sites_of(place), edit):
        measured = _measure(place, today)
    transaction.on_commit(lambda: drop_raw(LoggerFile(raw=raw)))
    return measured


@transaction.atomic
def measure_again(*, place: Site | Building, edit: Edit, today: date) -> None:
    """Make a place's climate anew where the hours of its files have grown."""
    with settings_recorded(_sites_of(place), edit):
        _measure(place, today)


@transaction.atomic
def withdraw_air(*, file: LoggerFile, edit: Edit, today: date) -> None:
    """Take an accepted file out again; without another one the place has its former climate."""
    place = file.site or file.building
    file.delete()
    measured = MeasuredClimate.objects.filter(**_where(place)).first()
    if measured is None:
        return
    with settings_recorded(_sites_of(place), edit):
        if accepted_files(measured):
            _measure(place, today)
        else:
            _unmeasure(measured, today)


def _sites_of(place: Site | Building | None) -> list[Site]:
    """The site in whose chain the air of the place stands."""
    site = place.site if isinstance(place, Building) else place
    return [site] if site else []


def _where(place: Site | Building | None) -> dict[str, Site | Building | None]:
    return {"site": place} if isinstance(place, Site) else {"building": place}


def _measure(place: Site | Building | None, today: date) -> MeasuredClimate:
    """Make the place's climate anew from all its accepted files, and have its cars' dates follow."""
    assert place is not None  # noqa: S101  # a file of air stands at a site or in a building
    measured = MeasuredClimate.objects.filter(**_where(place)).select_related("climate").first()
    if measured is None:
        measured = _new(place)
    files = accepted_files(measured)
    hours = hours_of_files(files)
    assert hours is not None  # noqa: S101  # an accepted file has hours
    site = place if isinstance(place, Site) else place.site
    monthly = normals_of(hours, site.time_zone, _base(measured, place, today))
    measured.series = digest_of(files)
    measured.facts = coverage(monthly, hours) | {"files": [[file.name, file.digest] for file in files]}
    measured.climate.basis = _basis(measured, monthly.years)
    measured.climate.save()
    _write_months(measured.climate, monthly.normals)
    measured.save()
    if isinstance(place, Site):
        place.climate = measured.climate
        place.save()
        for building in place.buildings.filter(measured__isnull=False):
            _measure(building, today)
    refresh_cars(_cars_at(place), today)
    return measured


def _new(place: Site | Building) -> MeasuredClimate:
    site = place if isinstance(place, Site) else place.site
    name = (
        f"Measured at {place.name}" if isinstance(place, Site) else f"Measured in {place.name}, {site.name}"
    )
    taken = set(Climate.objects.filter(organisation=site.organisation_id).values_list("name", flat=True))
    name = name[:70]
    free = next(n for n in (name, *(f"{name} ({i})" for i in range(2, 1000))) if n not in taken)
    climate = Climate.objects.create(organisation=site.organisation, name=free)
    filled_from = site.climate if isinstance(place, Site) else None
    return MeasuredClimate(climate=climate, filled_from=filled_from, **_where(place))


def _base(measured: MeasuredClimate, place: Site | Building, today: date) -> np.ndarray:
    """What fills the months that were not measured: the former climate, or the air reckoned inside."""
    if isinstance(place, Site):
        assert measured.filled_from is not None  # noqa: S101  # set when the climate was made
        return np.array(months_of(measured.filled_from))
    return reckoned_inside(reckoned_place(place.site.climate, place, today), today)


def _write_months(climate: Climate, normals: np.ndarray) -> None:
    climate.months.all().delete()
    ClimateMonth.objects.bulk_create(
        ClimateMonth(
            climate=climate,
            month=number,
            mean_c=round(mean, 3),
            min_c=round(min(low, mean), 3),
            max_c=round(max(high, mean), 3),
            humidity_pct=round(damp, 2),
        )
        for number, (mean, low, high, damp) in enumerate(normals.T.tolist(), 1)
    )


def _basis(measured: MeasuredClimate, years: Sequence[int] | np.ndarray) -> str:
    facts = measured.facts
    own = int((np.asarray(years) > 0).sum())
    first, last = (format_day(date.fromisoformat(facts[key])) for key in ("first", "last"))
    text = f"Own logger, {first} to {last}: {own} of 12 months measured"
    if own < len(years):
        base = measured.filled_from.name if measured.filled_from else "the air reckoned inside"
        text += f", the others from {base} {facts['shift_c']:+.1f} °C"
    return text[:200]


def _unmeasure(measured: MeasuredClimate, today: date) -> None:
    climate, place = measured.climate, measured.site or measured.building
    assert place is not None  # noqa: S101  # every one has a place
    if measured.filled_from:
        Site.objects.filter(climate=climate).update(climate=measured.filled_from)
    measured.delete()
    climate.delete()
    if isinstance(place, Site):
        for building in place.buildings.filter(measured__isnull=False):
            _measure(building, today)
    refresh_cars(_cars_at(place), today)


def _cars_at(place: Site | Building) -> QuerySet[Vehicle]:
    if isinstance(place, Building):
        return Vehicle.objects.filter(bay__building=place)
    # cars in no bay are taken to stand at the first site
    return Vehicle.objects.filter(bay__building__site=place) | Vehicle.objects.filter(
        organisation=place.organisation, bay__isnull=True
    )

"""Writing down who works at a site, when, and with what; the plan follows by itself."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, time

from django.core.exceptions import ValidationError
from django.db import models, transaction

from collection.life.duties import DUTY_TITLES
from collection.models import (
    Building,
    Equipment,
    EquipmentKind,
    Hand,
    Holiday,
    OpeningHours,
    OtherHours,
    Person,
    Site,
    StormDay,
    Way,
    Weekday,
)
from collection.round.queries.staff import workers
from collection.web.faults import check

OPEN_BOTH = "Give both times, or leave both empty for a day on which the site is closed."
OPEN_ORDER = "It closes before it opens: check both times."


@dataclass(frozen=True)
class UsualWeek:
    """One person's minutes from Monday to Sunday, and the duties that they may do."""

    person: Person
    minutes: Sequence[int]
    may: Sequence[str]


@transaction.atomic
def save_hands(*, site: Site, weeks: Sequence[UsualWeek]) -> None:
    """Keep exactly these usual weeks; no hours with nothing that they may do is no row."""
    known = set(workers(site.organisation))
    for week in weeks:
        if week.person not in known or not set(week.may) <= set(DUTY_TITLES):
            raise ValidationError(
                f"{week.person}: not somebody who works here, or a duty that does not exist."
            )
    site.hands.all().delete()
    for week in weeks:
        if any(week.minutes) or week.may:
            days = {day.name.lower(): n for day, n in zip(Weekday, week.minutes, strict=True)}
            hand = Hand(site=site, person=week.person, may=sorted(week.may), **days)
            check(hand, {})
            hand.save()


@transaction.atomic
def save_opening(*, site: Site, hours: Mapping[int, tuple[time | None, time | None]]) -> None:
    """Keep exactly these hours; ValidationError names ``open-weekday-field``."""
    faults = {}
    for weekday, (opens, closes) in hours.items():
        if (opens is None) != (closes is None):
            faults[f"open-{weekday}-closes"] = OPEN_BOTH
        elif opens and closes and closes <= opens:
            faults[f"open-{weekday}-closes"] = OPEN_ORDER
    if faults:
        raise ValidationError(faults)
    site.opening_hours.all().delete()
    for weekday, (opens, closes) in hours.items():
        if opens and closes:
            OpeningHours.objects.create(site=site, weekday=weekday, opens=opens, closes=closes)


@transaction.atomic
def save_equipment(*, site: Site, counts: Mapping[str, int], coldest_yard_c: float | None) -> None:
    """Keep how many of each kind there are, and the coldest day for work in the open (None: −5 °C)."""
    usual = Site._meta.get_field("coldest_yard_c").default
    site.coldest_yard_c = usual if coldest_yard_c is None else coldest_yard_c
    check(site, {})
    site.save(update_fields=["coldest_yard_c"])
    site.equipment.all().delete()
    for kind, count in counts.items():
        row = Equipment(site=site, kind=EquipmentKind(kind), count=count)
        check(row, {})
        row.save()


def add_holiday(*, site: Site, day: date, name: str) -> None:
    """Close the site for a day; ValidationError when it is closed already."""
    taken = site.holidays.filter(day=day).exists()
    _add(Holiday(site=site, day=day, name=name), {"day": "That day is there already."} if taken else {})


def add_other_hours(*, site: Site, person: Person, day: date, minutes: int) -> None:
    """Other hours for one person on one day, in place of those said before."""
    with transaction.atomic():
        site.other_hours.filter(person=person, day=day).delete()
        _add(OtherHours(site=site, person=person, day=day, minutes=minutes), {})


def add_storm(*, site: Site, day: date) -> None:
    """No work in the open on a day; said twice it is one."""
    StormDay.objects.get_or_create(site=site, day=day)


def add_way(*, start: Building, end: Building, minutes: int) -> None:
    """Minutes between two buildings of one site, in place of those said before, either way round."""
    if start == end or start.site_id != end.site_id:
        raise ValidationError({"way-end": "Choose another building of the same site."})
    with transaction.atomic():
        Way.objects.filter(start__in=(start, end), end__in=(start, end)).delete()
        _add(Way(start=start, end=end, minutes=minutes), {})


def _add(row: models.Model, faults: dict[str, str]) -> None:
    check(row, faults)
    row.save()


def remove(*, site: Site, what: str, pk: int) -> None:
    """Take out a holiday, other hours, a storm day or a way; gone already is as well."""
    rows = {
        "holiday": site.holidays.all(),
        "other": site.other_hours.all(),
        "storm": site.storm_days.all(),
        "way": Way.objects.filter(start__site=site),
    }
    if what in rows:
        rows[what].filter(pk=pk).delete()

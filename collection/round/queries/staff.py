"""What the planner and the page on staff and equipment read about a site."""

from collections.abc import Iterable
from datetime import date, time, timedelta

from django.db.models import Q, QuerySet

from collection.due.queries.intervals import answered
from collection.models import (
    Building,
    Entry,
    Hand,
    Holiday,
    OpeningHours,
    Organisation,
    OtherHours,
    Person,
    PinnedChoice,
    Role,
    Site,
    StormDay,
    Vehicle,
    Way,
    Weekday,
)
from collection.models.care import effective

Opening = dict[int, tuple[time, time]]  # by weekday, Monday 0
WORKING_ROLES = (Role.MANAGER, Role.STAFF)
# Policy: until a site has said its hours, a plain working week.
USUAL_OPENING: Opening = {
    int(day): (time(8), time(17)) for day in Weekday if day not in (Weekday.SATURDAY, Weekday.SUNDAY)
}


def workers(organisation: Organisation) -> QuerySet[Person]:
    """Managers and staff who may sign in."""
    return Person.objects.filter(
        is_active=True, memberships__organisation=organisation, memberships__role__in=WORKING_ROLES
    ).order_by("name", "pk")


def site_of(vehicle: Vehicle) -> Site | None:
    """The site whose people see to a car; in no bay, the organisation's first."""
    return vehicle.bay.building.site if vehicle.bay else vehicle.organisation.sites.first()


def hands_of(site: Site) -> QuerySet[Hand]:
    """The usual weeks of those who still work for the organisation."""
    return site.hands.filter(person__in=workers(site.organisation)).select_related("person")


def colleagues(vehicle: Vehicle) -> QuerySet[Person]:
    """Who has hours at the site of a car: to them a task may be given."""
    site = site_of(vehicle)
    people = workers(vehicle.organisation)
    return people.filter(hands__site=site).distinct() if site else people.none()


def owned_at(site: Site) -> dict[str, int]:
    """How many of each equipment a site has."""
    return dict(site.equipment.values_list("kind", "count"))


def opening_of(site: Site) -> Opening:
    """Opening hours by weekday; the usual ones until the site's own are recorded."""
    own = list(OpeningHours.objects.filter(site=site))
    return {row.weekday: (row.opens, row.closes) for row in own} if own else dict(USUAL_OPENING)


def other_hours(site: Site, since: date) -> QuerySet[OtherHours]:
    """Days with other hours from ``since`` on."""
    return site.other_hours.filter(day__gte=since).select_related("person")


def holidays(site: Site, since: date) -> QuerySet[Holiday]:
    """Holidays from ``since`` on."""
    return site.holidays.filter(day__gte=since)


def storm_days(site: Site, since: date) -> QuerySet[StormDay]:
    """Storm days from ``since`` on."""
    return site.storm_days.filter(day__gte=since)


def ways(site: Site) -> QuerySet[Way]:
    """The ways between two buildings of the site."""
    return Way.objects.filter(start__site=site, end__site=site).select_related("start", "end")


def buildings(site: Site) -> QuerySet[Building]:
    """The site's buildings in walking order."""
    return site.buildings.order_by("walk_order", "name", "pk")


def live_choices(vehicles: Iterable[int], today: date) -> list[PinnedChoice]:
    """Choices that still hold: the chosen day is not past, the task has not been done since."""
    future = Q(day__gte=today) | Q(day__isnull=True)
    choices = list(
        PinnedChoice.objects.filter(future, vehicle__in=vehicles)
        .select_related("person", "by")
        .order_by("pk")
    )
    if not choices:
        return []
    since = min(choice.chosen_at for choice in choices)
    log = effective(Entry.objects.filter(vehicle__in={c.vehicle_id for c in choices}, recorded_at__gt=since))
    done = [(entry.vehicle_id, answered(entry), entry.recorded_at) for entry in log]
    return [
        choice
        for choice in choices
        if not any(
            car == choice.vehicle_id and duty == choice.duty and at > choice.chosen_at
            for car, duty, at in done
        )
    ]


def minutes_on(hands: Iterable[Hand], others: Iterable[OtherHours], day: date) -> dict[int, int]:
    """Minutes of each person on a day: the exception, else the usual weekday."""
    stated = {other.person_id: other.minutes for other in others if other.day == day}
    return {hand.person_id: stated.get(hand.person_id, hand.week[day.weekday()]) for hand in hands}


def span(first: date, days: int) -> list[date]:
    """So many days from the first on."""
    return [first + timedelta(days=n) for n in range(days)]

"""Cars that are wanted on a day: what is done before it, and what is not, with the reason."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date, timedelta

from django.db.models import QuerySet

from collection.life.duties import DUTY_TITLES, INSPECTION, standing_at, titles_at
from collection.models import Assignment, DutyRow, ReadyBy, Site, SitePlan, Unplaced, Vehicle
from collection.permissions import Access
from collection.round.queries.outings import not_out
from collection.round.queries.staff import site_of
from collection.round.queries.weeks import Week
from collection.web.templatetags.longstand import near_day
from scheduler.week.ready import LAST_DAYS, LAST_LOOK, Wanted

AHEAD = timedelta(days=28)  # beyond the week that is shown
ONCE_MORE = "once more"
NOT_YET = "the plan has not taken it in yet: open the page again in a minute"


@dataclass(frozen=True)
class Before:
    """One piece of work before the day: when it is planned; ``why`` it is not in time (empty: it is)."""

    duty: str
    title: str
    on: date | None
    why: str = ""
    is_no_work: bool = False  # held back, or a paper: no plan changes it


@dataclass(frozen=True)
class ReadyDay:
    """A car wanted on a day. ``unknown``: duties of which nobody knows how the car stands."""

    wish: ReadyBy
    last_day: date  # for its work
    work: tuple[Before, ...]
    unknown: tuple[str, ...]
    is_ahead: bool  # beyond what is planned so far
    is_new: bool  # asked for since the plan was made

    @property
    def car(self) -> Vehicle:
        """Whose day it is."""
        return self.wish.vehicle

    @property
    def planned(self) -> list[Before]:
        """What is done in time, in its order."""
        return [each for each in self.work if not each.why]

    @property
    def troubles(self) -> list[Before]:
        """What is not."""
        return [each for each in self.work if each.why]


@dataclass(frozen=True)
class _Planned:
    """What the plan says of the cars, by the keys of its tasks."""

    today: date
    is_there: bool
    placed: dict[str, Assignment]
    missing: dict[str, Unplaced]
    names: Mapping[str, str]

    def before(self, row: DutyRow, last: date) -> Before:
        """What becomes of a duty that is due by the day."""
        title, key = _title(row), f"{row.vehicle_id}/{row.duty}"
        if row.title and not row.minutes:
            due = near_day(row.due or last, self.today)
            return Before(row.duty, title, None, f"a paper, due {due}: see to it yourself", is_no_work=True)
        if row.hold and key not in self.placed:
            return Before(row.duty, title, None, f"held back: {row.hold}", is_no_work=True)
        return self._at(key, row.duty, title, last)

    def looks(self, wish: ReadyBy, last: date) -> Iterator[Before]:
        """The looks of the last days, and what comes round once more before the day and has no place."""
        for key, out in self.missing.items():
            if out.vehicle_id == wish.vehicle_id and "#" in key and out.late == last:
                yield self._at(key, out.duty, f"{self.names[out.duty]}, {ONCE_MORE}", last)
        for key, at in self.placed.items():
            mine = at.vehicle_id == wish.vehicle_id and at.duty in LAST_LOOK and "#" in key
            if mine and timedelta(0) <= last - at.day < timedelta(days=LAST_DAYS):
                yield Before(at.duty, f"{self.names[at.duty]}, {ONCE_MORE}", at.day)

    def _at(self, key: str, duty: str, title: str, last: date) -> Before:
        at, out = self.placed.get(key), self.missing.get(key)
        if at is not None and at.day <= last:
            return Before(duty, title, at.day)
        why = out.why if out else at.reason if at else ""
        if at is not None:
            return Before(duty, title, at.day, f"only on {near_day(at.day, self.today)}. {why}")
        if not self.is_there:
            return Before(duty, title, None, "nothing is planned: nobody's hours are recorded here")
        return Before(duty, title, None, why or NOT_YET)


def live_wishes(access: Access, today: date) -> QuerySet[ReadyBy]:
    """Days still to come, of cars still in storage; those that are past have ended."""
    wishes = access.ready_days().filter(day__gte=today, vehicle__left_on__isnull=True)
    return wishes.select_related("vehicle__bay__building__site", "vehicle__organisation", "by")


def ready_of(access: Access, vehicle: Vehicle, today: date) -> list[ReadyDay]:
    """The days of one car, while it is here."""
    here = not_out(access.only(vehicle))
    return _days(live_wishes(access, today).filter(vehicle__in=here), site_of(vehicle), today)


def ready_at(access: Access, site: Site, week: Week, today: date) -> list[ReadyDay]:
    """The days of the cars at a site from a week on, four weeks ahead."""
    near = live_wishes(access, today).filter(day__range=(week.monday, week.sunday + AHEAD))
    here = not_out(access.vehicles().filter(standing_at(site)))
    return _days(near.filter(vehicle__in=here), site, today)


def _days(wishes: Iterable[ReadyBy], site: Site | None, today: date) -> list[ReadyDay]:
    rows = list(wishes)
    if not rows:
        return []
    cars = {wish.vehicle_id for wish in rows}
    plan = SitePlan.objects.filter(site=site, last_day__gte=today).first() if site else None
    duties = list(DutyRow.objects.filter(vehicle__in=cars).order_by("due", "duty"))
    planned = _Planned(
        today,
        plan is not None,
        {row.key: row for row in Assignment.objects.filter(plan=plan, vehicle__in=cars)},
        {row.key: row for row in Unplaced.objects.filter(plan=plan, vehicle__in=cars)},
        titles_at(rows[0].vehicle.organisation_id),
    )
    made = []
    for wish in rows:
        last = date.fromordinal(Wanted("", wish.day.toordinal(), "").limit(today.toordinal()))
        mine = [row for row in duties if row.vehicle_id == wish.vehicle_id]
        is_new = plan is not None and wish.asked_at > plan.computed_at
        work = [planned.before(row, last) for row in mine if _asked(row, wish, last)]
        work = [each for each in work if each.is_no_work] if is_new else [*work, *planned.looks(wish, last)]
        made.append(
            ReadyDay(
                wish,
                last,
                tuple(sorted(work, key=lambda each: (each.on or date.max, each.title))),
                tuple(_title(row) for row in mine if row.unknown and row.duty != INSPECTION),
                plan is not None and last > plan.last_day,
                is_new,
            )
        )
    return made


def _asked(row: DutyRow, wish: ReadyBy, last: date) -> bool:
    """Whether it is due by the day, or is the look of the last days."""
    known = not row.unknown or row.duty == INSPECTION
    drawn = row.duty in LAST_LOOK and row.early is not None and row.early <= last
    return known and row.due is not None and (row.due <= wish.day or drawn)


def _title(row: DutyRow) -> str:
    return row.title or DUTY_TITLES[row.duty]

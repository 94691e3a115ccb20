"""A site's facts as the planner's request: days, cars, people, tasks."""

from collections import defaultdict
from dataclasses import replace
from datetime import date, time, timedelta

import numpy as np

from collection.drawing.floor import in_front
from collection.life.core.gather import gather
from collection.life.core.places import place_for
from collection.models import Assignment, Building, DutyRow, OwnDuty, Shelter, SitePlan, Vehicle
from collection.round.core.facts import PLAN_DAYS, SiteFacts, is_open_air
from collection.round.queries.staff import minutes_on, span
from scheduler.duties.battery.charge import LIMITS as CHARGE_LIMITS
from scheduler.duties.engine.run_up.window import HOLDS as RUN_UP_HOLDS
from scheduler.duties.engine.run_up.window import STALE as RUN_UP_STALE
from scheduler.duties.fuel.stabiliser import HOLDS as STABILISER_HOLDS
from scheduler.duties.fuel.stabiliser import STALE as STABILISER_STALE
from scheduler.duties.table import DUTIES, forecast
from scheduler.physics.climate import hourly
from scheduler.vocabulary.duties import DUTY
from scheduler.vocabulary.intervals import interval_days
from scheduler.week import request as week
from scheduler.week.ready import LAST_LOOK, Wanted, ready
from scheduler.week.repeat import repeat, task
from scheduler.year.care import care
from scheduler.year.changes import Practice

NO_BAY = "none"
NO_LIMIT_DAYS = 28  # policy: care whose harm has no date is still not put off for longer
MAINTAINER_CHECK = "maintainer check"
assert MAINTAINER_CHECK in CHARGE_LIMITS  # noqa: S101 - the two must stay one word
CHECK_MINUTES = 5  # policy: a look at the maintainer's lamp and leads
FRESH_FUEL = "fuel_change"
HELD_FOR_FUEL = {RUN_UP_HOLDS[RUN_UP_STALE], STABILISER_HOLDS[STABILISER_STALE]}
AFTER_FUEL_DAYS = 14  # policy: fresh fuel is dosed and drawn in on the same visit, or within two weeks
Intervals = dict[tuple[int, str], float]


def request_of(facts: SiteFacts, *, steps: int = week.STEPS) -> tuple[week.PlanRequest, Intervals]:
    """The request, and how many days after being done each duty of each car comes round again."""
    between = intervals(facts)
    tasks = _tasks(facts, between)
    own = {row.duty for row in facts.duties if row.title}  # whoever is at the car does them
    return week.PlanRequest(
        days=_days(facts),
        tasks=tuple(tasks),
        cars=_cars(facts),
        buildings=_buildings(facts),
        people=tuple(
            week.Person(str(hand.person_id), str(hand.person), frozenset(hand.may) | own)
            for hand in facts.hands
        ),
        travel={(str(way.start_id), str(way.end_id)): way.minutes for way in facts.ways},
        previous=_previous(facts, tasks),
        coldest_yard_c=facts.site.coldest_yard_c,
        steps=steps,
    ), between


def _days(facts: SiteFacts) -> tuple[week.Day, ...]:
    closed = {holiday.day: holiday.name for holiday in facts.holidays}
    storms = {storm.day for storm in facts.storms}
    outside = place_for(facts.site.climate, Building(shelter=Shelter.OPEN), facts.today)
    made = []
    for day in span(facts.today, PLAN_DAYS):
        hours = facts.opening.get(day.weekday())
        opens, closes = (_minutes(hours[0]), _minutes(hours[1])) if hours else (0, 0)
        why = closed.get(day, "" if hours else f"closed on {day:%A}s")
        staff = {str(pk): n for pk, n in minutes_on(facts.hands, facts.others, day).items()}
        course = hourly(outside, float(day.toordinal()))[0]
        working = course[opens // 60 : max(-(-closes // 60), opens // 60 + 1)]
        made.append(
            week.Day(
                day.toordinal(),
                opens,
                closes,
                staff,
                facts.equipment,
                why,
                float(working.min()),
                day in storms,
            )
        )
    return tuple(made)


def _minutes(moment: time) -> int:
    return moment.hour * 60 + moment.minute


def _buildings(facts: SiteFacts) -> tuple[week.Building, ...]:
    known = [week.Building(str(b.pk), b.name, b.walk_order, is_open_air(b)) for b in facts.buildings]
    last = max((b.walk_order for b in known), default=0) + 1
    return (*known, week.Building(NO_BAY, "in no bay", last))


def _cars(facts: SiteFacts) -> tuple[week.Car, ...]:
    in_bay = {car.bay_id: str(car.pk) for car in facts.vehicles if car.bay_id}
    tagged = {tag.vehicle_id: tag.details.get("where") or tag.details["tag"] for tag in facts.tags}
    return tuple(
        week.Car(
            key=str(car.pk),
            label=str(car),
            position=position,
            building=str(car.bay.building_id) if car.bay else NO_BAY,
            bay=car.bay.label if car.bay else "",
            blocked_by=tuple(
                in_bay[bay] for bay in in_front([car.bay_id or 0], facts.fronts) if bay in in_bay
            ),
            immovable=_immovable(car, tagged),
            runs_in_bay=car.bay is not None and (car.bay.exhaust_extraction or is_open_air(car.bay.building)),
        )
        for position, car in enumerate(facts.vehicles)
    )


def _immovable(car: Vehicle, tagged: dict[int, str]) -> str:
    if car.pk in tagged:
        return f"tagged: {tagged[car.pk]}"
    return "its wheels are off the ground, on stands" if car.on_stands else ""


def _tasks(facts: SiteFacts, between: Intervals) -> list[week.Task]:
    last = facts.today.toordinal() + PLAN_DAYS - 1
    people = {hand.person_id for hand in facts.hands}
    chosen = {(choice.vehicle_id, choice.duty): choice for choice in facts.choices}
    made: list[week.Task] = []
    for row in facts.duties:
        if row.title and not row.minutes:
            continue  # a paper is no work at the car
        choice = chosen.get((row.vehicle_id, row.duty))
        first = _task(row)
        if first.early > last and choice is None:
            continue
        again = _again(row, first, between, facts.today, last)
        if choice is not None:
            person = str(choice.person_id) if choice.person_id in people else None
            day = choice.day.toordinal() if choice.day else None
            again[0] = replace(first, pinned_day=day, pinned_person=person)
        made += again
    wanted = [Wanted(str(wish.vehicle_id), wish.day.toordinal(), wish.purpose) for wish in facts.wishes]
    wished = {wish.vehicle_id for wish in facts.wishes}
    looks = [_task(row) for row in facts.duties if row.vehicle_id in wished and row.duty in LAST_LOOK]
    today = facts.today.toordinal()
    return ready(_after_fuel(made, today), wanted, looks, today, last)


def _after_fuel(tasks: list[week.Task], today: int) -> list[week.Task]:
    """What is held for stale fuel alone follows the fuel change: dosed, then run."""
    fresh = {each.car: each for each in tasks if each.duty == FRESH_FUEL and not each.held}
    made = []
    for each in tasks:
        fuel = fresh.get(each.car)
        if fuel is None or each.held not in HELD_FOR_FUEL:
            made.append(each)
            continue
        day = max(fuel.due, today)
        late = day + AFTER_FUEL_DAYS
        made.append(replace(each, early=day, due=day, late=late, held="", after=fuel.key))
    return made


def _again(row: DutyRow, first: week.Task, between: Intervals, today: date, last: int) -> list[week.Task]:
    days = between.get((row.vehicle_id, row.duty), np.nan)
    if first.held or not days >= 1 or first.early > last:
        return [first]
    return list(repeat(first, days, today.toordinal(), last))


def _task(row: DutyRow) -> week.Task:
    assert row.due is not None  # noqa: S101 - facts hold only those
    due = row.due.toordinal()
    early = min(row.early.toordinal() if row.early else due, due)
    late = max(row.late.toordinal() if row.late else due + NO_LIMIT_DAYS, due)
    made = task(f"{row.vehicle_id}/{row.duty}", str(row.vehicle_id), row.duty, (early, due, late), row.hold)
    if row.minutes:
        return replace(made, minutes=row.minutes)
    if row.limit == MAINTAINER_CHECK:
        return replace(made, needs=(), occupies=0, minutes=CHECK_MINUTES)
    return made


def intervals(facts: SiteFacts) -> Intervals:
    """Days from each duty, done today, to its next due day; NaN where it does not come round.

    The next date is the forecast's own for a record in which everything was done today.
    """
    pks = [car.pk for car in facts.vehicles]
    if not pks:
        return {}
    gathered, today = gather(pks, today=facts.today), float(facts.today.toordinal())
    every = np.arange(len(gathered.pks))
    done = {duty.name: every for duty in DUTIES}
    after = care(gathered.fleet, done, every, np.full(every.size, today), Practice())
    windows = forecast(after, today, facts.policy)
    between = {
        (pk, name): float(window.due[index] - today)
        for name, window in windows.items()
        for index, pk in enumerate(gathered.pks)
    }
    own = OwnDuty.objects.filter(vehicle__in=pks, ended_on=None).exclude(interval="")
    return between | {(each.vehicle_id, each.code): interval_days(each.interval) for each in own}


def _previous(facts: SiteFacts, tasks: list[week.Task]) -> dict[str, week.Before]:
    """Where the last plan had each task: the nearest of its car and duty within the window.

    Keys alone will not do: once a task is done, the one that follows takes its key.
    """
    plan = SitePlan.objects.filter(site=facts.site).first()
    if plan is None:
        return {}
    had: dict[tuple[str, str], list[tuple[int, str]]] = defaultdict(list)
    old = Assignment.objects.filter(plan=plan, day__gte=facts.today).exclude(duty="")
    for row in old.values_list("vehicle_id", "duty", "day", "person_id"):
        had[str(row[0]), row[1]].append((row[2].toordinal(), str(row[3])))
    previous = {}
    for each in tasks:
        fit = [old for old in had[each.car, each.duty] if each.early <= old[0]]
        if fit:
            nearest = min(fit, key=lambda old: abs(old[0] - each.due))
            had[each.car, each.duty].remove(nearest)
            previous[each.key] = week.Before(*nearest)
    return previous


def year_ahead(facts: SiteFacts, between: Intervals) -> list[tuple[str, str, int, int]]:
    """Month, duty, how often and minutes through the coming year, each duty done on its due day."""
    end = facts.today + timedelta(days=365)
    ahead: dict[tuple[str, str], list[int]] = defaultdict(lambda: [0, 0])
    for row in facts.duties:
        if row.hold or row.due is None or (row.title and not row.minutes):
            continue
        minutes, days = _task(row).minutes, between.get((row.vehicle_id, row.duty), np.nan)
        day = float(max(row.due, facts.today).toordinal())
        while day < end.toordinal():
            cell = ahead[f"{date.fromordinal(int(day)):%Y-%m}", row.duty]
            cell[0] += 1
            cell[1] += minutes
            if not days >= 1:
                break
            day += days
    order = {duty: place for place, duty in enumerate(DUTY)}
    cells = sorted(ahead, key=lambda cell: (cell[0], order.get(cell[1], len(order)), cell[1]))
    return [(month, duty, ahead[month, duty][0], ahead[month, duty][1]) for month, duty in cells]

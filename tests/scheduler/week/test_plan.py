"""What the plan prefers, what it says, and that small plans are the best there are."""

import os
from dataclasses import replace
from itertools import product

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from scheduler.vocabulary.errors import BadInput
from scheduler.week.means import means_of
from scheduler.week.planner import plan
from scheduler.week.problem import Bar, problem_of
from scheduler.week.repeat import repeat, task
from scheduler.week.request import Before
from scheduler.week.timetable import fits
from scheduler.week.work import WORK
from scheduler.week.worth import NOWHERE, worth
from tests.scheduler.week.exact import exact, late_price, small_case
from tests.scheduler.week.foreman import foreman, late_days, visits
from tests.scheduler.week.rules import broken
from tests.scheduler.week.site import ALL, BOB, MONDAY, car, day, due, site, where
from tests.scheduler.week.stored import demo_request, fortnight


def cheapest(request):
    """The best price of all: every way of putting every task on every day or none, one by one."""
    problem = problem_of(request)
    choices = [[NOWHERE, *np.flatnonzero(problem.bar[t] == Bar.OPEN)] for t in range(len(problem.tasks))]
    prices = [
        worth(problem, np.array(days))
        for days in product(*choices)
        if _keeps_order(problem, days) and _finds_time(problem, days)
    ]
    return min(prices)


def _keeps_order(problem, days):
    warm = all(days[t] == NOWHERE or days[t] in [days[r] for r in rs] for t, rs in problem.warm.items())
    ahead = all(days[a] <= days[b] or days[b] == NOWHERE for a, b in problem.ahead)
    return warm and ahead


def _finds_time(problem, days):
    on = {d: [t for t, at in enumerate(days) if at == d] for d in set(days) - {NOWHERE}}
    return all(fits(problem, tasks, means_of(problem, int(d))) for d, tasks in on.items())


BLOCKED = [car("a", 1), car("b", 2, blocked_by=("a",)), car("y", 3, building="yard")]
SMALL = {
    "one visit": [due("a", "charge", at=1), due("a", "run_up", at=3), due("a", "inspection", at=2)],
    "oil with the run": [
        due("a", "run_up", at=3),
        due("a", "engine_oil", at=0),
        due("a", "stabiliser", at=4),
    ],
    "blocked": [due("b", "run_up", at=1), due("a", "tyre_move", at=3), due("a", "tyre_pressure", at=4)],
    "too much": [due(c, "run_up", at=0, late=1) for c in "ab"]
    + [due("y", "inspection", at=1), due("a", "coolant")],
}


@pytest.mark.parametrize("name", SMALL)
@pytest.mark.parametrize("hours", [70, 130])
def test_a_small_plan_is_the_cheapest_of_all(name, hours):
    days = [day(n, ann=hours, low_c=-9.0 if n == 1 else 3.0) for n in range(5)]
    request = site(SMALL[name], BLOCKED, days)
    made = plan(request)
    assert made.score.cost == cheapest(request)


def test_the_bound_is_never_above_the_cost():
    made = plan(site([due(c, "run_up", at=0, late=1) for c in "abcdef"]))
    assert made.score.bound <= made.score.cost
    assert made.score.late_tasks == len(made.unfit)


def test_tasks_of_a_car_share_a_visit_where_their_windows_meet():
    at = where(
        plan(site([due("a", "inspection", at=1), due("a", "tyre_pressure", at=3), due("a", "coolant", at=2)]))
    )
    assert len(set(at.values())) == 1


def test_nothing_is_late_to_save_a_visit():
    at = where(plan(site([due("a", "inspection", at=0, late=0), due("a", "run_up", early=1)])))
    assert at["a/inspection"] == 0


def test_hours_are_levelled_over_the_days():
    made = plan(
        site([due(c, "inspection", at=2) for c in "abcdefghij"], days=[day(n, ann=60) for n in range(5)])
    )
    per_day = np.bincount(list(where(made).values()), minlength=5)
    assert per_day.max() <= 4


def test_work_of_one_day_goes_in_walking_order():
    cars = [car(k, position) for k, position in zip("abcd", (3, 1, 4, 2), strict=True)]
    made = plan(site([due(k, "inspection", at=0, late=0) for k in "abcd"], cars))
    assert [p.car for p in sorted(made.placements, key=lambda p: p.order)] == ["b", "d", "a", "c"]


def test_a_pin_stands_although_another_day_is_cheaper():
    made = plan(site([due("a", "inspection", at=1, pinned_day=MONDAY + 4), due("a", "charge", at=1)]))
    assert where(made)["a/inspection"] == 4
    (pinned,) = [p for p in made.placements if p.task == "a/inspection"]
    assert pinned.reason.startswith("Pinned to this day by hand.")


def test_a_pin_may_go_outside_the_window():
    assert where(plan(site([due("a", "inspection", early=3, at=3, pinned_day=MONDAY)]))) == {
        "a/inspection": 0
    }


def test_a_pinned_person_does_it():
    tasks = [due("a", "inspection", pinned_person="bob")]
    made = plan(site(tasks, days=[day(n, bob=240) for n in range(5)]))
    assert [p.person for p in made.placements] == ["bob"]


def test_a_pin_is_worth_more_than_any_other_work_on_a_full_day():
    others = [due(c, "inspection", at=0, late=0) for c in "bcdef"]
    made = plan(site([due("a", "run_up", at=0, late=0, pinned_day=MONDAY), *others], days=[day(0, ann=60)]))
    assert where(made) == {"a/run_up": 0}


def test_a_pin_stays_where_the_way_between_buildings_leaves_no_time_for_all():
    cars = [car("a", building="yard"), *(car(c, n) for n, c in enumerate("bcdef"))]
    others = [due(c, "inspection", at=0, late=0) for c in "bcdef"]
    pinned = due("a", "inspection", pinned_day=MONDAY)
    at = where(plan(site([pinned, *others], cars, [day(n, ann=60) for n in range(2)])))
    assert at["a/inspection"] == 0
    assert sorted(at.values()) == [0, 0, 0, 0, 0, 1]


def test_a_pin_on_a_closed_day_is_refused_with_the_nearest_day_that_would_do():
    days = [day(0), day(1, closed="holiday"), day(2)]
    made = plan(site([due("a", "inspection", pinned_day=MONDAY + 1)], days=days))
    (unfit,) = made.unfit
    assert "pinned to Tue 1 Dec" in unfit.why
    assert "closed" in unfit.why
    assert "the pin moved to Mon 30 Nov" in unfit.would_fit
    assert "open on Tue 1 Dec" in unfit.would_fit


def test_after_one_change_the_rest_of_the_plan_stays():
    tasks = [due(c, d, at=2) for c in "abcdef" for d in ("inspection", "tyre_pressure", "charge")]
    request = site(tasks, days=[day(n, ann=120) for n in range(5)])
    before = plan(request)
    previous = {p.task: Before(p.day, p.person) for p in before.placements}
    sick = [
        replace(d, staff_minutes={"ann": 0}) if d.day == before.placements[0].day else d for d in request.days
    ]
    after = plan(replace(request, days=tuple(sick), previous=previous))
    had_to = {p.task for p in before.placements if p.day == before.placements[0].day}
    moved = {t for t, d in where(after).items() if d != where(before)[t]}
    assert moved <= had_to
    assert after.score.changed == len(moved)
    assert plan(replace(request, previous=previous)).score.changed == 0


def test_without_the_price_of_change_the_plan_would_differ():
    request = site([due("a", "inspection", at=2)], previous={"a/inspection": Before(MONDAY + 4, "ann")})
    assert where(plan(request)) == {"a/inspection": 4}
    free = replace(request, weights=replace(request.weights, changed=0))
    assert where(plan(free)) == {"a/inspection": 2}


def test_whoever_had_the_task_keeps_it():
    days = [day(n, bob=240) for n in range(5)]
    for who in ("ann", "bob"):
        request = site(
            [due("a", "inspection", at=2)], days=days, previous={"a/inspection": Before(MONDAY + 2, who)}
        )
        assert plan(request).placements[0].person == who


def test_with_no_hours_nothing_fits_and_the_plan_says_so():
    tasks = [due("a", "inspection"), due("b", "run_up")]
    made = plan(site(tasks, days=[day(n, ann=0) for n in range(5)]))
    assert made.placements == ()
    assert [u.task for u in made.unfit] == ["a/inspection", "b/run_up"]
    assert all("nobody who may do it is at work" in u.why for u in made.unfit)
    assert "15 minutes more for Ann on Wed 2 Dec" in made.unfit[0].would_fit
    assert "60 minutes more for Ann on Wed 2 Dec" in made.unfit[1].would_fit


def test_every_remedy_named_would_have_worked():
    tasks = [due(c, "run_up", at=1, late=1) for c in "abcd"]
    request = site(tasks, days=[day(n, ann=60, closes=480 + 60) for n in range(2)])
    left = plan(request).unfit
    assert len(left) == 2
    extra = next(fix for fix in left[0].would_fit if "minutes more for Ann on Tue 1 Dec" in fix)
    longer = int(extra.split()[0])
    days = (
        request.days[0],
        replace(request.days[1], staff_minutes={"ann": 60 + longer}, closes=540 + longer),
    )
    assert len(plan(replace(request, days=days)).unfit) == 1


def test_another_person_who_may_is_a_remedy():
    request = site([due("a", "run_up", at=0, late=0)], days=[day(0, ann=10, bob=240), day(1)])
    (unfit,) = plan(request).unfit
    assert "Bob allowed to do run-up" in unfit.would_fit
    able = replace(request, people=(request.people[0], replace(BOB, may=ALL)))
    assert plan(able).unfit == ()


def test_what_is_due_after_the_plan_waits_for_the_next():
    made = plan(site([due("a", "coolant", at=50, late=90)]))
    assert made.later == ("a/coolant",)
    assert made.unfit == ()


def test_an_empty_site_has_an_empty_plan():
    made = plan(site([]))
    assert made.placements == ()
    assert made.score.proven


def test_a_duty_that_comes_round_is_several_tasks():
    first = task("k", "a", "inspection", (MONDAY - 9, MONDAY - 8, MONDAY - 7))
    made = repeat(first, 7, MONDAY, MONDAY + 20)
    assert [t.key for t in made] == ["k", "k#2", "k#3", "k#4"]
    assert [t.due - MONDAY for t in made] == [-8, 7, 14, 21]
    assert [t.late - t.due for t in made] == [1, 1, 1, 1]
    assert repeat(task("k", "a", "coolant", (MONDAY, MONDAY, MONDAY)), 1100, MONDAY, MONDAY + 83)[1:] == ()
    with pytest.raises(BadInput, match="interval_days"):
        repeat(first, 0, MONDAY, MONDAY + 20)
    with pytest.raises(BadInput, match="duty"):
        task("k", "a", "polish", (MONDAY, MONDAY, MONDAY))


DUTIES = st.sampled_from(sorted(WORK))


@st.composite
def sites(draw):
    """Sites of up to seven cars in one lane, some behind others, in any weather and hours."""
    count = draw(st.integers(1, 7))
    cars = []
    for i in range(count):
        fronts = (f"c{i - 1}",) if i and draw(st.booleans()) else ()
        place = draw(st.sampled_from(["hall", "yard"]))
        stuck = draw(st.sampled_from(["", "", "", "seized"]))
        own = draw(st.booleans())
        cars.append(car(f"c{i}", i, blocked_by=fronts, building=place, immovable=stuck, runs_in_bay=own))
    days = [
        day(
            n,
            ann=draw(st.sampled_from([0, 60, 150, 400])),
            bob=draw(st.sampled_from([0, 120])),
            closed=draw(st.sampled_from(["", "", "holiday"])),
            low_c=draw(st.sampled_from([-9.0, 2.0])),
            storm=draw(st.sampled_from([False, False, True])),
        )
        for n in range(draw(st.integers(1, 10)))
    ]
    tasks = []
    for c in cars:
        for duty in draw(st.lists(DUTIES, max_size=5)):
            early, at, late = sorted(draw(st.lists(st.integers(-3, 12), min_size=3, max_size=3)))
            pin = draw(st.one_of(st.none(), st.none(), st.integers(-1, 10)))
            chosen = {"pinned_day": None if pin is None else MONDAY + pin}
            chosen["pinned_person"] = draw(st.sampled_from([None, None, None, "bob"]))
            chosen["held"] = draw(st.sampled_from(["", "", "tag"]))
            tasks.append(due(c.key, duty, early, at, late, key=f"t{len(tasks)}", **chosen))
    return site(tasks, cars, days, steps=60)


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(sites())
def test_no_plan_breaks_a_hard_rule_and_every_task_is_accounted_for(request):
    made = plan(request)
    assert broken(request, made) == ()
    done = {p.task for p in made.placements}
    nowhere = {u.task for u in made.unfit if u.late_on is None}
    said = [*done, *nowhere, *made.later, *(key for key, _ in made.held)]
    assert sorted(said) == sorted(t.key for t in request.tasks)
    assert made.score.bound <= made.score.cost


def test_a_repeat_counts_from_the_day_on_which_the_one_before_it_is_planned():
    first = due("a", "inspection", at=1, late=9, pinned_day=MONDAY + 4)
    again = [replace(t, pinned_day=None) for t in repeat(first, 7, MONDAY, MONDAY + 13)]
    made = plan(site([replace(first, after=""), *again[1:]], days=[day(n) for n in range(14)]))
    days = {p.task: (p.day - MONDAY, p.due - MONDAY) for p in made.placements}
    assert days["a/inspection"][0] == 4
    assert days["a/inspection#2"][1] == 11  # seven days after Friday, not after the due Tuesday


def test_care_of_long_ago_waits_for_the_visit_and_what_is_newly_late_does_not():
    old = due("a", "coolant", early=-600, at=-560, late=-546)
    look = due("a", "inspection", early=2, at=2, late=2)
    assert set(where(plan(site([old, look]))).values()) == {2}
    new = replace(old, early=MONDAY - 20, due=MONDAY - 10, late=MONDAY - 1)
    assert where(plan(site([new, look])))["a/coolant"] == 0


def test_the_same_request_has_the_same_plan():
    request = replace(fortnight(demo_request()), steps=60)
    one, other = plan(request), plan(request)
    assert one.placements == other.placements
    assert one.moves == other.moves
    assert broken(request, one) == ()


def test_a_demo_fortnight_costs_fewer_visits_than_the_foreman_and_no_more_late_days():
    request = replace(fortnight(demo_request()), steps=400)
    made, hand = plan(request), foreman(request)
    assert visits(made) <= visits(hand)
    assert late_days(request, made) <= late_days(request, hand)


def test_an_early_run_up_is_proposed_where_warm_work_would_be_late_without_it():
    tasks = [due("a", "run_up", early=9, at=12, late=20), due("a", "engine_oil", at=1, late=2)]
    made = plan(site(tasks, days=[day(n) for n in range(14)]))
    assert max(where(made).values()) <= 2
    (run_up,) = [p for p in made.placements if p.duty == "run_up"]
    assert "Run early for engine oil" in run_up.reason


@pytest.mark.parametrize("seed", range(int(os.environ.get("LONGSTAND_WEEKS", "2"))))
def test_a_small_site_is_no_later_than_the_exact_optimum_and_within_one_visit_of_the_least(seed):
    request = small_case(seed)
    best, made = exact(request), plan(request)
    assert late_price(request, made) == best.lateness
    assert visits(made) <= best.visits + 1


def test_what_stale_fuel_holds_is_done_after_the_fuel_change_in_the_order_of_the_trade():
    fuel = due("a", "fuel_change", at=0)
    then = [due("a", duty, early=0, at=0, after=fuel.key) for duty in ("run_up", "stabiliser")]
    made = plan(site([*then, fuel], days=[day(n, ann=400) for n in range(5)]))
    assert broken(site([*then, fuel]), made) == ()
    at = {p.duty: (p.day, p.start) for p in made.placements}
    assert at["fuel_change"] < at["stabiliser"] < at["run_up"]
    assert len({p.day for p in made.placements}) == 1
    assert any("After the fuel change" in p.reason for p in made.placements)
    alone = plan(site([*then, replace(fuel, minutes=500)], days=[day(n, ann=400) for n in range(5)]))
    assert alone.placements == ()

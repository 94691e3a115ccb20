"""Each hard rule of the plan: with the rule the plan differs from what it would be without it."""

from dataclasses import replace

import pytest

from scheduler.vocabulary.equipment import CHARGER, EXTRACTION
from scheduler.vocabulary.errors import BadInput
from scheduler.week.planner import plan
from tests.scheduler.week.rules import broken
from tests.scheduler.week.site import GEAR, MONDAY, car, day, due, site, where


def sound(request):
    """The plan, once it is shown to keep every hard rule."""
    made = plan(request)
    assert broken(request, made) == ()
    return made


def starts(made):
    return {p.task: (p.day, p.start) for p in made.placements}


def test_steps_at_one_car_follow_the_ranks():
    duties = ["run_up", "engine_oil", "stabiliser", "charge", "tyre_pressure", "tyre_move"]
    made = sound(site([due("a", d, at=0) for d in duties], days=[day(0, ann=400)]))
    at = {p.duty: p.start for p in made.placements}
    ranked = ["stabiliser", "tyre_pressure", "charge", "tyre_move", "run_up", "engine_oil"]
    assert sorted(at, key=at.get) == ranked


def test_cranking_waits_until_the_charge_is_over():
    made = sound(site([due("a", "run_up", at=0), due("a", "charge", at=0)], days=[day(0)]))
    at = {p.duty: p.start for p in made.placements}
    assert at["run_up"] >= at["charge"] + 300


def test_a_day_too_short_for_charge_and_run_up_takes_only_one_of_them():
    short = [day(0, closes=480 + 240), day(1, closes=480 + 240)]
    at = where(sound(site([due("a", "run_up", late=1, at=1), due("a", "charge", late=1, at=1)], days=short)))
    assert sorted(at.values()) == [0, 1]


def test_oil_is_changed_on_the_run_ups_visit_even_when_its_own_due_day_is_another():
    at = where(sound(site([due("a", "engine_oil", at=0), due("a", "run_up", early=3, at=3)])))
    assert at == {"a/engine_oil": 3, "a/run_up": 3}


def test_oil_of_a_car_that_is_never_run_stands_alone():
    assert where(sound(site([due("a", "engine_oil", at=0)]))) == {"a/engine_oil": 0}


def test_the_run_up_waits_for_the_stabiliser_that_it_draws_in():
    tasks = [due("a", "run_up", at=0, late=2), due("a", "stabiliser", early=2, at=2, pinned_day=MONDAY + 3)]
    at = where(sound(site(tasks)))
    assert at["a/stabiliser"] == 3
    assert at["a/run_up"] >= 3


def test_cars_in_front_are_moved_before_the_car_at_the_back_comes_out():
    cars = [car("a", 1), car("b", 2, blocked_by=("a",)), car("c", 3, blocked_by=("b",))]
    made = sound(site([due("c", "run_up")], cars))
    moves = {m.car: m.start for m in made.moves}
    assert moves["a"] < moves["b"] < moves["c"] < made.placements[0].start
    assert made.moves[0].to_reach == ("c",)


def test_the_move_of_a_car_in_front_is_its_tyre_care():
    cars = [car("a", 1), car("b", 2, blocked_by=("a",))]
    tasks = [due("b", "run_up", early=3, at=3), due("a", "tyre_move", at=0)]
    made = sound(site(tasks, cars))
    assert where(made)["a/tyre_move"] == 3
    assert len([m for m in made.moves if m.car == "a"]) == 1
    assert [m.task for m in made.moves if m.car == "a"] == ["a/tyre_move"]
    assert (
        "rolled out that day anyway to reach Car b" in made.placements[0].reason + made.placements[1].reason
    )


def test_a_car_behind_one_that_may_not_be_moved_cannot_come_out():
    cars = [car("a", 1, immovable="brakes seized"), car("b", 2, blocked_by=("a",))]
    made = sound(site([due("b", "run_up")], cars))
    assert made.placements == ()
    assert any("Car a able to be moved (brakes seized)" in fix for fix in made.unfit[0].would_fit)


def test_lift_work_at_a_car_on_stands_is_done_where_it_stands():
    cars = [car("a", 1), car("b", 2, blocked_by=("a",), immovable="its wheels are off the ground, on stands")]
    made = sound(site([due("b", "brake_fluid", at=0)], cars, days=[day(0, equipment={})]))
    assert where(made) == {"b/brake_fluid": 0}
    assert made.moves == ()


def test_with_extraction_at_its_bay_a_car_is_run_up_where_it_stands():
    cars = [car("a", 1), car("b", 2, blocked_by=("a",), runs_in_bay=True)]
    request = site([due("b", "run_up", at=0)], cars, days=[day(0, equipment={})])
    made = sound(request)
    assert where(made) == {"b/run_up": 0}
    assert made.moves == ()


def test_one_exhaust_place_serves_one_car_at_a_time():
    people = [replace(p, may=p.may | {"run_up"}) for p in site([]).people]
    tasks = [due(c, "run_up", at=0, late=0) for c in "ab"]
    made = sound(site(tasks, days=[day(0, bob=240)], people=tuple(people)))
    first, second = sorted(p.start for p in made.placements)
    assert second >= first + 45


def test_a_charger_is_held_for_the_day_so_two_chargers_take_two_cars():
    tasks = [due(c, "charge", late=2) for c in "abcdef"]
    at = where(sound(site(tasks, days=[day(n) for n in range(3)])))
    assert sorted(at.values()) == [0, 0, 1, 1, 2, 2]


def test_no_work_in_the_yard_below_the_chosen_cold_or_in_a_storm():
    days = [day(0, low_c=-6.0), day(1, storm=True), day(2, low_c=-4.0)]
    out = [car("a", building="yard"), car("b")]
    tasks = [due("a", "inspection", at=0), due("b", "inspection", at=0)]
    made = sound(site(tasks, out, days))
    assert where(made) == {"a/inspection": 2, "b/inspection": 0}


def test_a_car_is_not_reached_through_the_yard_in_a_storm():
    cars = [car("a", 1, building="yard"), car("b", 2, blocked_by=("a",))]
    made = sound(site([due("b", "run_up", at=0)], cars, [day(0, storm=True), day(1)]))
    assert where(made) == {"b/run_up": 1}


def test_nobody_works_on_a_holiday():
    made = sound(site([due("a", "inspection", at=0)], days=[day(0, closed="holiday"), day(1)]))
    assert where(made) == {"a/inspection": 1}


def test_work_ends_at_closing_time_however_many_minutes_people_have():
    tasks = [due(c, "run_up", at=0) for c in "ab"]
    made = sound(site(tasks, days=[day(n, closes=480 + 70) for n in range(2)]))
    assert sorted(where(made).values()) == [0, 1]


def test_only_those_who_may_do_a_duty_are_given_it():
    made = sound(site([due("a", "run_up", at=0)], days=[day(0, ann=0, bob=480), day(1)]))
    assert where(made) == {"a/run_up": 1}
    assert made.placements[0].person == "ann"


def test_the_way_between_buildings_takes_time():
    tasks = [due("a", "inspection", at=0, late=0), due("b", "inspection", at=0, late=0)]
    cars = [car("a"), car("b", building="yard")]
    assert len(sound(site(tasks, cars, [day(0, ann=25)])).placements) == 2
    assert len(sound(site(tasks, cars, [day(0, ann=24)])).placements) == 1


def test_nothing_is_done_before_its_window_opens():
    assert where(sound(site([due("a", "inspection", early=3, at=3)]))) == {"a/inspection": 3}


def test_what_is_held_is_not_planned_and_says_why():
    made = sound(site([due("a", "run_up", held="tagged: drained")]))
    assert made.placements == ()
    assert made.held == (("a/run_up", "tagged: drained"),)


def test_a_duty_that_comes_round_is_not_done_twice_on_a_day():
    tasks = [due("a", "inspection", key="one"), due("a", "inspection", key="two")]
    assert len(set(where(sound(site(tasks))).values())) == 2


@pytest.mark.parametrize(
    ("fault", "field"),
    [
        (
            lambda: site(
                [due("a", "inspection")], [car("a", blocked_by=("b",)), car("b", blocked_by=("a",))]
            ),
            "circle",
        ),
        (lambda: site([due("a", "inspection")], [car("a", blocked_by=("x",))]), "blocked_by of car a"),
        (lambda: site([due("a", "inspection", late=1)]), "early, due, late"),
        (lambda: site([due("a", "inspection")], days=[day(0), day(2)]), "every day once"),
        (lambda: site([due("a", "inspection")], days=[day(0, ann=-1)]), "staff_minutes"),
        (lambda: site([due("a", "inspection")], days=[day(0, opens=900, closes=500)]), "opens, closes"),
        (lambda: site([due("a", "inspection", key="k"), due("a", "charge", key="k")]), "there twice"),
        (lambda: site([due("a", "inspection", pinned_person="zoe")]), "pinned_person"),
        (lambda: site([due("a", "run_up", rank=4)]), "rank"),
        (lambda: replace(site([]), days=()), "days"),
    ],
)
def test_an_unsound_request_names_the_field(fault, field):
    with pytest.raises(BadInput, match=field):
        plan(fault())


def test_without_extraction_or_charger_the_plan_says_what_is_missing():
    request = site([due("a", "run_up"), due("b", "charge")], days=[day(n, equipment={}) for n in range(5)])
    fixes = {u.task: u.would_fit for u in sound(request).unfit}
    assert any(f"another {EXTRACTION}" in fix for fix in fixes["a/run_up"])
    assert any(f"another {CHARGER}" in fix for fix in fixes["b/charge"])


def test_the_checker_sees_a_plan_that_was_tampered_with():
    request = site([due("a", "run_up"), due("a", "engine_oil"), due("b", "charge")])
    made = sound(request)
    for changes in ({"day": MONDAY + 40}, {"start": 0}, {"person": "bob"}, {"start": 1015}):
        worse = replace(made, placements=tuple(replace(p, **changes) for p in made.placements))
        assert broken(request, worse)
    assert broken(replace(request, days=tuple(replace(d, equipment={}) for d in request.days)), made)
    assert broken(request, replace(made, moves=()))
    assert GEAR[EXTRACTION] == 1

"""A car wanted on a day: what is due by it comes before it, charge and tyres once more close to it."""

from dataclasses import replace

from scheduler.week.planner import plan
from scheduler.week.ready import LAST_DAYS, Wanted, ready
from scheduler.week.repeat import repeat
from tests.scheduler.week.site import MONDAY, day, due, site, where

THURSDAY = 3
SHOW = Wanted("a", MONDAY + THURSDAY, "show")


def backwards(tasks, *wishes, looks=(), last=13):
    return {t.key: t for t in ready(tasks, wishes or [SHOW], looks, MONDAY, MONDAY + last)}


def window(task):
    return task.early - MONDAY, task.due - MONDAY, task.late - MONDAY


def test_what_is_due_by_the_day_is_limited_to_the_day_before_and_nothing_else_changes():
    tasks = [due("a", "inspection", 0, 3, 9), due("a", "coolant", 0, 4, 9), due("b", "inspection", 0, 3, 9)]
    made = backwards(tasks)
    assert window(made["a/inspection"]) == (0, 2, 2)
    assert made["a/coolant"] == tasks[1]
    assert made["b/inspection"] == tasks[2]


def test_late_work_keeps_its_limit_and_held_work_is_left_alone():
    late = due("a", "inspection", -30, -20, -10)
    held = due("a", "coolant", 0, 1, 9, held="hot")
    made = backwards([late, held])
    assert window(made["a/inspection"]) == (-30, -20, -10)
    assert made["a/coolant"] == held


def test_the_charge_that_falls_near_is_drawn_into_the_last_days_else_there_is_one_more():
    near, far = due("a", "charge", -5, 3, 9), due("a", "charge", 40, 50, 60)
    [look] = backwards([near], looks=[near]).values()
    assert window(look) == (0, 2, 2)
    [extra] = backwards([], looks=[far]).values()
    assert window(extra) == (0, 2, 2)
    assert extra.key != far.key
    later = Wanted("a", MONDAY + 10, "drive")
    assert window(next(iter(backwards([], later, looks=[far]).values()))) == (10 - LAST_DAYS, 9, 9)


def test_a_charge_that_is_late_already_is_not_asked_for_twice_in_the_same_days():
    late = due("a", "charge", -30, -20, -10)
    assert list(backwards([late], looks=[late])) == [late.key]


def test_a_day_that_is_today_limits_to_today_and_one_that_is_past_changes_nothing():
    task = due("a", "inspection", 0, 0, 9)
    assert window(backwards([task], Wanted("a", MONDAY, "viewing"))[task.key]) == (0, 0, 0)
    assert backwards([task], Wanted("a", MONDAY - 1, "viewing"))[task.key] == task


def test_the_nearest_of_two_days_counts_for_a_task():
    task = due("a", "inspection", 0, 1, 12)
    made = backwards([task], Wanted("a", MONDAY + 9, "show"), Wanted("a", MONDAY + 4, "drive"))
    assert window(made[task.key]) == (0, 1, 3)
    assert made[task.key].wanted.endswith("drive")


def test_what_comes_round_again_before_the_day_has_a_limit_that_does_not_move_along():
    series = repeat(due("a", "inspection", 0, 1, 2), 5, MONDAY, MONDAY + 20)
    made = backwards(series, Wanted("a", MONDAY + 12, "show"))
    second, third = made["a/inspection#2"], made["a/inspection#3"]
    assert (second.after, second.late <= MONDAY + 11, bool(second.wanted)) == ("", True, True)
    assert window(third)[2] <= 11
    assert made["a/inspection#4"] == series[3]


def test_the_plan_does_it_before_the_day_and_says_for_what():
    work = [due("a", "inspection", 0, 3, 4), due("a", "tyre_pressure", 0, 3, 4)]
    request = site(ready(work, [SHOW], work, MONDAY, MONDAY + 4), days=[day(n) for n in range(5)])
    made = plan(request)
    assert all(d < THURSDAY for d in where(made).values())
    assert all("For Thu 3 Dec: show." in placed.reason for placed in made.placements)


def test_what_cannot_be_done_by_then_is_told_with_its_reason():
    work = [due("a", "inspection", 0, 3, 4)]
    days = [day(n, ann=0 if n < THURSDAY else 240) for n in range(5)]
    made = plan(site(ready(work, [SHOW], [], MONDAY, MONDAY + 4), days=days))
    [late] = made.unfit
    assert late.task == "a/inspection"
    assert "nobody who may do it is at work" in late.why
    assert late.late_on == MONDAY + THURSDAY


def test_without_a_wish_nothing_changes():
    tasks = [due("a", "charge"), replace(due("b", "charge"), after="")]
    assert ready(tasks, [], tasks, MONDAY, MONDAY + 4) == tasks

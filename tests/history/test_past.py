"""Care done against care due: what the history says is what counting day by day gives."""

import os
import re
from datetime import timedelta

import pytest
import time_machine

from collection import demo
from collection.api.history import KeptTold
from collection.care.queries.care import day_of
from collection.history import EVERYTHING, Scope, tell
from collection.history.paper import paper
from collection.history.queries.history import whole_log
from collection.history.side_by_side import side_by_side
from collection.models import Vehicle
from tests.barn import TODAY
from tests.history.by_hand import count_by_hand
from tests.logbook import NOON, ago, write

# Every car and every day of the demo barn takes ten minutes: CI looks at a few cars for a few weeks.
EVERY_CAR = int(os.environ.get("LONGSTAND_PAST_EVERY", "13"))
DAYS = int(os.environ.get("LONGSTAND_PAST_DAYS", "40"))
FULL = {"completed": True}
SUMMED = ("late", "asked", "total_days")


@pytest.fixture(autouse=True)
def _today():
    with time_machine.travel(NOON, tick=False):
        yield


def story_of(car, scope=EVERYTHING):
    return tell(car, today=TODAY, units="metric", scope=scope)


def kept(car, duty, scope=EVERYTHING):
    return next(line for line in story_of(car, scope).kept if line.duty == duty)


def test_the_demo_barns_past_is_what_counting_day_by_day_gives(db):
    demo.build(NOON)
    checked = 0
    for car in Vehicle.objects.filter(left_on__isnull=True, on_stands=False).order_by("pk")[::EVERY_CAR]:
        log = whole_log(car)
        first = max(ago(DAYS), day_of(log[0]) + timedelta(days=1)) if log else TODAY
        for line in story_of(car, Scope(first=first)).kept if log else ():
            slow = count_by_hand(car, line.duty, first, TODAY)
            told = {name: getattr(line, name) for name in vars(slow)} | {"ended": dict(line.ended)}
            assert told == vars(slow), (car, line.duty)
            checked += line.asked
    assert checked


def test_what_other_care_ends_was_late_all_the_same(keeper, car):
    """Tyres never rolled for a year, then the car is driven: no move was logged, and it stood too long."""
    car.stored_since = ago(500)
    car.save()
    write(car, keeper, "moved", 500, details={"wheels_only": True})
    write(car, keeper, "run_up", 10, details={"driven": True, "reached_temperature": True, "minutes": 45})
    line = kept(car, "tyre_move")
    assert (line.late, line.done) == (1, 1)
    assert line.total_days > 100
    assert dict(line.ended) == {"other care": 1}
    assert "ended by other care" in line.words
    assert "in its window" not in line.words


def test_days_before_the_log_began_are_not_known_and_not_nothing(keeper, car):
    car.stored_since = ago(900)
    car.save()
    write(car, keeper, "inspected", 100, details={"ok": True})
    story = story_of(car)
    assert {line.unknown_days for line in story.kept} == {801}
    assert "not known for 801 days before the log began" in story.kept_about
    assert all(line.total_days <= 101 for line in story.kept)


def test_what_is_due_on_a_car_that_may_not_be_run_counts_as_on_hold(keeper, car):
    car.regime, car.stored_since = "preserved", ago(400)
    car.save()
    write(car, keeper, "run_up", 390, details={"driven": True, "reached_temperature": True, "minutes": 45})
    line = kept(car, "run_up")
    assert (line.asked, line.late, line.hold) == (0, 0, "a car that is laid up is not run")
    assert line.held_days > 100


def test_what_is_written_down_late_changes_no_earlier_day_and_both_are_told(keeper, car):
    car.stored_since = ago(400)
    car.save()
    write(car, keeper, "charge", 400, details=FULL)
    before = kept(car, "charge", Scope(last=ago(60)))
    assert before.total_days
    write(car, keeper, "charge", 300, recorded_after_days=250, details=FULL)
    after = kept(car, "charge", Scope(last=ago(60)))
    assert (after.asked, after.total_days) == (before.asked, before.total_days)
    assert after.by_now_days < before.by_now_days == before.total_days
    assert "by what is known now" in after.words


def test_a_correction_of_today_changes_nothing_that_was_asked_for_before(keeper, car):
    car.stored_since = ago(400)
    car.save()
    wrong = write(car, keeper, "charge", 400, details=FULL)
    then = Scope(last=ago(1))
    before = kept(car, "charge", then)
    write(car, keeper, "withdrawn", 0, corrects=wrong)
    after = kept(car, "charge", then)
    assert (after.asked, after.total_days, after.ended) == (before.asked, before.total_days, before.ended)
    assert after.done == 0


def test_the_past_does_not_hang_on_the_weekday(keeper, car):
    """The same log a week of days later gives the same numbers where air and calendar are left out."""
    car.stored_since = ago(100)
    car.save()
    for days in (100, 60, 20):
        write(car, keeper, "moved", days, details={"wheels_only": True})
    told = set()
    for later in range(7):
        with time_machine.travel(NOON + timedelta(days=later), tick=False):
            story = tell(car, today=TODAY + timedelta(days=later), units="metric", scope=Scope(last=TODAY))
            told.add(str([line for line in story.kept if line.duty == "tyre_move"]))
    assert len(told) == 1


def test_page_paper_programme_and_comparison_say_the_same_of_every_duty(client_as, keeper, car):
    car.stored_since = ago(500)
    car.save()
    for days in (480, 300, 90):
        write(car, keeper, "charge", days, details=FULL)
    write(car, keeper, "inspected", 200, details={"ok": True})
    response = client_as(keeper).get(f"/cars/{car.pk}/history/")
    story, html = response.context["story"], " ".join(response.content.decode().split())
    printed = {row[0]: row[1:] for row in paper(story)["kept"]}
    for line in story.kept:
        figures = [f"{line.asked} ×", f"{line.done} ×", f"{line.late} ×"]
        words = line.words[:1].upper() + line.words[1:]
        assert printed[line.title] == [*figures, words]
        row = html.split(f'<th scope="row">{line.title}</th>', 1)[1].split("</tr>", 1)[0]
        assert re.findall(r">(\d+ ×)<", row) == figures
        assert words in row
        sent = KeptTold.from_orm(line).model_dump()
        assert (sent["asked"], sent["late"], sent["total_days"]) == (line.asked, line.late, line.total_days)
        assert sent["words"] == line.words
    cells = {row.title: row.cells[0] for section in side_by_side([story]) for row in section.rows}
    late, asked, days = (sum(getattr(each, name) for each in story.kept) for name in SUMMED)
    said = f"{late} of {asked} times, {days:,} days in all"
    assert cells["Asked for and beyond its window"].startswith(said)

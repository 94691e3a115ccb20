"""The timeline: twelve months across, a row for each car, windows as blocks, what was done as strokes."""

import re
from datetime import date

import pytest
import time_machine

from collection.drawing.strips import Days, band, bar, done, line, scaled
from collection.models import Holiday, Owner
from tests.barn import make_car
from tests.logbook import NOON, ago, ahead, give_duties, write

NAN = float("nan")


@pytest.fixture(autouse=True)
def _today():
    with time_machine.travel(NOON, tick=False):
        yield


def page(client, query=""):
    response = client.get(f"/timeline/{query}")
    assert response.status_code == 200
    return response


def rows(response):
    return [(heading, car, strip) for heading, cars in response.context["groups"] for car, strip in cars]


def strip_of(response, car):
    return next(strip for _, one, strip in rows(response) if one == car)


# what is drawn


def test_days_lie_in_proportion_and_outside_days_on_the_edge():
    days = Days(date(2026, 1, 1), date(2026, 4, 11))  # a hundred days
    assert [days.x(day) for day in (date(2026, 1, 1), date(2026, 2, 20), date(2026, 4, 11))] == [0, 500, 1000]
    assert (days.x(date(2020, 1, 1)), days.x(date(2030, 1, 1))) == (0, 1000)
    assert days.months == [days.x(date(2026, month, 1)) for month in (2, 3, 4)]


def test_a_window_without_its_early_or_late_day_ends_at_the_likely_one():
    days = Days(date(2026, 1, 1), date(2026, 4, 11))
    likely, late = date(2026, 2, 20), date(2026, 3, 2)
    assert bar(days, (None, likely, late), "fine", "x").width == 100
    assert bar(days, (None, likely, None), "fine", "x").width == 2  # still to be seen
    assert bar(days, (None, None, None), "fine", "x") is None
    assert bar(days, (date(2027, 1, 1), date(2027, 2, 1), None), "fine", "x") is None
    over = bar(days, (date(2025, 1, 1), date(2025, 6, 1), date(2027, 1, 1)), "late", "x")
    assert (over.x, over.width, over.due) == (0, 1000, None)


def test_what_was_done_on_one_day_is_one_stroke_that_names_all():
    days = Days(date(2026, 1, 1), date(2026, 4, 11))
    marks = [(date(2026, 2, 20), "Charge"), (date(2026, 2, 20), "Moved"), (date(2026, 2, 20), "Charge")]
    (stroke,) = done(days, [*marks, (date(2025, 2, 20), "Charge")])
    assert (stroke.x, stroke.text) == (500, "Charge, Moved")


def test_a_curve_has_a_gap_where_nothing_is_known():
    days = Days(date(2026, 1, 1), date(2026, 4, 11))
    first = date(2026, 1, 1).toordinal()
    at = [float(day) for day in range(first, first + 21)]
    assert line(days, at, [0.0] * 8 + [NAN] * 5 + [1.0] * 8, 0, 1).count("M") == 2
    assert (scaled(0, 0, 1), scaled(1, 0, 1), scaled(9, 0, 1)) == (43, 3, 3)
    assert band(days, at[:1], [0.0], [1.0], 0, 1) == ""


# the page


def test_twelve_months_two_of_them_past(client_as, keeper, car):
    give_duties(car)
    months = page(client_as(keeper)).context["months"]
    assert (len(months), months[0], months[-1]) == (12, date(2026, 9, 1), date(2027, 8, 1))


def test_a_window_and_what_was_done_lie_in_the_lane_of_their_part(client_as, keeper, car):
    give_duties(car, tyre_move={"window": (ahead(10), ahead(20), ahead(30))}, charge={"hold": "tagged"})
    write(car, keeper, "charge", 30, details={"completed": True})
    write(car, keeper, "charge", 300, details={"completed": True})
    strip = strip_of(page(client_as(keeper)), car)
    (block,) = [bar for bar in strip.bars if bar.text.startswith("Move (tyres)")]
    (stroke,) = strip.done
    assert (stroke.top, stroke.bottom) == (0, 10)  # the battery's, the first of six
    assert 40 < block.y < block.y + block.height < 50  # the tyres', the fifth
    assert not [bar for bar in strip.bars if bar.text.startswith("Maintainer charge")]
    assert "Move (tyres): 15 Dec 2026" in strip.sentence


def test_one_kind_of_work_has_the_strip_to_itself_a_lane_for_each_duty(client_as, keeper, car):
    give_duties(car, charge={"window": (ahead(10), ahead(20), ahead(30))})
    (block,) = strip_of(page(client_as(keeper), "?work=battery"), car).bars
    assert block.height > 50
    five = strip_of(page(client_as(keeper), "?work=fluids"), car).bars
    assert len({bar.y for bar in five}) == len(five)


def test_rows_stand_by_place_or_by_owner(client_as, keeper, barn, car, neighbour_car):
    loose = make_car(barn, Owner.objects.create(organisation=barn, name="Aaron Pike"), model="Loose")
    for one in (car, neighbour_car, loose):
        give_duties(one)
    by_place = [(heading, one.pk) for heading, one, _ in rows(page(client_as(keeper)))]
    assert set(by_place) == {
        ("Long shed, Hollin", car.pk),
        ("Long shed, Hollin", neighbour_car.pk),
        ("In no bay", loose.pk),
    }
    by_owner = [heading for heading, _, _ in rows(page(client_as(keeper), "?by=owner"))]
    assert by_owner == ["Aaron Pike", "Ada Wren", "Bram Toller"]


def test_an_owner_sees_their_own_cars_only(client_as, owner, car, neighbour_car):
    give_duties(car)
    give_duties(neighbour_car)
    assert [one for _, one, _ in rows(page(client_as(owner)))] == [car]


def test_odd_questions_show_everything_and_say_so(client_as, keeper, car):
    give_duties(car, charge={"window": (ago(10), ahead(20), ahead(30))})
    response = page(client_as(keeper), "?by=zeppelin&work=zeppelin&owner=zeppelin&page=zeppelin")
    assert [one for _, one, _ in rows(response)] == [car]
    assert response.content.decode().count('class="fault"') == 2
    assert not re.search(r"[=\" ]nan", response.content.decode())


def test_an_empty_barn_leads_on(client_as, keeper, viewer, barn):
    assert 'href="/cars/new/"' in page(client_as(keeper)).content.decode()
    assert 'href="/cars/new/"' not in page(client_as(viewer)).content.decode()


# what makes days differ


def test_months_of_frost_and_closed_days_are_shaded_at_the_cars_own_site(client_as, keeper, barn, car):
    site = barn.sites.get()
    Holiday.objects.create(site=site, day=date(2026, 12, 25), name="Christmas")
    Holiday.objects.create(site=site, day=date(2030, 12, 25), name="Far off")
    loose = make_car(barn, car.owner, model="Loose")
    for one in (car, loose):
        give_duties(one)
    response = page(client_as(keeper))
    shades = strip_of(response, car).shades
    frost = site.climate.months.filter(min_c__lt=0).values_list("month", flat=True)
    assert [one.text for one in shades if one.kind == "holiday"] == ["Christmas, 2026-12-25"]
    assert len([one for one in shades if one.kind == "winter"]) == len(frost) > 0
    assert strip_of(response, loose).shades == []  # it may stand anywhere
    assert "Blue: months with" in response.content.decode()


def test_by_kind_of_work_each_part_has_the_cars_that_want_it(client_as, keeper, car, neighbour_car):
    give_duties(car, charge={"window": (ahead(10), ahead(20), ahead(30))})
    give_duties(neighbour_car)
    groups = dict(page(client_as(keeper), "?by=work").context["groups"])
    assert [one for one, _ in groups["Battery"]] == [car]
    assert "Fuel" not in groups
    both = dict(page(client_as(keeper), "?by=work&work=fuel").context["groups"])
    assert both == {}


def test_cars_stand_by_make(client_as, keeper, car):
    give_duties(car)
    assert [heading for heading, _, _ in rows(page(client_as(keeper), "?by=car"))] == ["Wendlow"]

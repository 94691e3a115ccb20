"""A car's page: where it stands, what is due, its curves, its record, its log."""

import re
from datetime import date

import pytest
import time_machine
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from collection.drawing.days import format_day
from collection.models import Attachment, Battery, Bay, LastUse, Vehicle
from tests.barn import make_car
from tests.logbook import NOON, ago, ahead, as_shown, give_duties, spoil, write


@pytest.fixture(autouse=True)
def _today():
    with time_machine.travel(NOON, tick=False):
        yield


def page(client, car, query=""):
    response = client.get(f"/cars/{car.pk}/{query}")
    assert response.status_code == 200
    return response


def charts(client, car):
    return page(client, car, "curves/").context["charts"]


def body(response):
    return response.content.decode()


def panel(response, part):
    return next(panel for panel in response.context["panels"] if panel.part == part)


def test_the_heading_says_where_it_stands_and_how_it_is_kept(client_as, keeper, car):
    html = body(page(client_as(keeper), car))
    assert "Stands in bay A1, Long shed, Hollin." in as_shown(html)
    assert "Kept running: run up under load" in html


def test_every_duty_stands_on_the_page_with_its_reason(client_as, keeper, car):
    response = page(client_as(keeper), car)
    assert len(response.context["lines"]) == 12
    for line in response.context["lines"]:
        assert f'href="/cars/{car.pk}/why/{line.duty}/"' in body(response)


def test_charge_and_fuel_are_drawn_and_what_was_done(client_as, keeper, car):
    write(car, keeper, "run_up", 9, details={"minutes": 40, "reached_temperature": True, "driven": True})
    drawn = charts(client_as(keeper), car)
    assert [chart.title for chart in drawn] == ["State of charge", "Fuel ageing", "What was done"]
    assert drawn[2].rows == (("November 2026", "Run-up"),)


def test_a_car_of_which_nothing_is_known_has_no_curve_that_begins_tomorrow(client_as, keeper, car):
    Vehicle.objects.filter(pk=car.pk).update(stored_since=None)
    charge, fuel, _ = charts(client_as(keeper), car)
    assert [chart.sentence for chart in (charge, fuel)] == [
        "State of charge: not known for today.",
        "Fuel ageing: not known for today.",
    ]
    assert not any((chart.figure or chart.rows) for chart in (charge, fuel))


def test_a_withdrawn_entry_is_no_mark_on_the_timeline(client_as, keeper, car):
    wrong = write(car, keeper, "run_up", 9, details={"minutes": 40})
    write(car, keeper, "withdrawn", 8, corrects=wrong)
    assert charts(client_as(keeper), car)[2].rows == ()


def test_a_car_of_which_nothing_is_known_says_what_is_missing(client_as, keeper, barn, car):
    bare = make_car(
        barn,
        car.owner,
        model="Found",
        year=None,
        fuel_system="",
        system_volts=None,
        tank_litres=None,
        stored_since=None,
    )
    response = page(client_as(keeper), bare)
    assert "No bay is written down" in body(response)
    assert panel(response, "battery").facts == []
    assert "Capacity" in panel(response, "battery").unknown
    assert "Not known: chemistry, capacity" in body(response)


def test_the_record_is_shown_in_the_units_of_the_reader(client_as, keeper, car):
    car.tyres.create(position="front_left", placard_kpa=220.63, date_code="1022")
    keeper.units = "american"
    keeper.save()
    response = page(client_as(keeper), car)
    assert ("Front left", "date code 1022, 32 psi on the placard") in panel(response, "tyres").facts
    assert ("Tank", "11.89 US gal") in panel(response, "car").facts


def test_a_chemistry_is_named_in_words(client_as, keeper, car):
    Battery.objects.create(vehicle=car, chemistry="agm", capacity_ah=70)
    facts = dict(panel(page(client_as(keeper), car), "battery").facts)
    assert facts["Chemistry"] != "agm"
    assert facts["Capacity"] == "70 Ah"


def test_each_last_time_says_how_it_is_known_and_the_later_one_wins(client_as, keeper, car):
    LastUse.objects.create(vehicle=car, event="engine_run", on=date(2026, 3, 1), basis="document")
    LastUse.objects.create(vehicle=car, event="road_use", on=date(2025, 9, 4), basis="owner")
    write(car, keeper, "run_up", 9, details={"minutes": 9, "reached_temperature": False, "driven": False})
    response = page(client_as(keeper), car)
    facts = dict(panel(response, "last").facts)
    assert facts["Engine run"] == "16 Nov 2026 (our own care log)"
    assert facts["Road use"] == "4 Sep 2025 (the owner's word)"
    assert panel(response, "last").unknown == ["Full-warm run", "Moved"]


def test_an_open_tag_stands_before_everything_else(client_as, keeper, car):
    write(car, keeper, "tag_opened", 5, details={"tag": "drain_open", "where": "sump plug out"})
    html = body(page(client_as(keeper), car))
    assert 0 < html.index("sump plug out") < html.index("<h2>What is due</h2>")


def test_a_tag_that_was_taken_off_is_only_in_the_log(client_as, keeper, car):
    hung = write(car, keeper, "tag_opened", 5, details={"tag": "drain_open", "where": "sump plug out"})
    write(car, keeper, "tag_closed", 4, details={"opened": str(hung.pk)})
    html = body(page(client_as(keeper), car))
    assert html.index("sump plug out") > html.index('id="log"')


def test_the_log_comes_in_pages_latest_first(client_as, keeper, car):
    for days in range(20):
        write(car, keeper, "note", days, note=f"note of day {days}.")
    first, second = body(page(client_as(keeper), car)), body(page(client_as(keeper), car, "?page=4"))
    assert "note of day 0." in first
    assert "note of day 19." not in first
    assert "note of day 19." in second


def test_who_works_here_may_log_and_edit(client_as, keeper, car):
    html = body(page(client_as(keeper), car))
    assert f'href="/cars/{car.pk}/log/"' in html
    for part in ("car", "battery", "fuel", "fluids", "tyres", "last"):
        assert f'href="/cars/{car.pk}/edit/{part}/"' in html


def test_an_owner_reads_their_car_and_changes_nothing(client_as, keeper, owner, car, neighbour_car):
    write(car, keeper, "note", 3, note="Cover replaced.")
    html = body(page(client_as(owner), car))
    assert "Cover replaced." in html
    assert not re.search(r'href="/cars/\d+/(log|edit|entries)/', html)
    assert client_as(owner).get(f"/cars/{neighbour_car.pk}/").status_code == 404


def test_another_barns_car_does_not_exist(client_as, manager, foreign_car):
    assert client_as(manager).get(f"/cars/{foreign_car.pk}/").status_code == 404


def test_a_car_that_left_has_its_record_and_log_but_no_dates(client_as, keeper, car):
    car.left_on = ago(3)
    car.save()
    response = page(client_as(keeper), car)
    assert "Left storage on Sun 22 Nov 2026" in body(response)
    assert "<h2>What is due</h2>" not in body(response)
    assert response.context["strips"] == []
    assert [chart.title for chart in charts(client_as(keeper), car)] == ["What was done"]
    assert "Log care" not in body(response)


def test_a_record_that_cannot_be_read_still_has_its_page(client_as, keeper, car):
    spoil(car)
    response = page(client_as(keeper), car)
    assert "The forecast cannot be drawn from the record as it stands" in body(response)
    assert "This car could not be worked out today" in body(response)


def test_the_place_says_what_is_at_hand(client_as, keeper, car):
    Bay.objects.filter(pk=car.bay_id).update(power_outlet=True, exhaust_extraction=True)
    assert ("At the bay", "power outlet, exhaust extraction") in page(client_as(keeper), car).context["place"]


def test_the_number_of_queries_does_not_grow_with_the_log(client_as, keeper, car):
    client = client_as(keeper)
    write(car, keeper, "inspected", 90, details={"ok": True})
    page(client, car)
    with CaptureQueriesContext(connection) as few:
        page(client, car)
    for days in range(1, 13):
        write(car, keeper, "inspected", days, details={"ok": True})
    page(client, car)
    with CaptureQueriesContext(connection) as many:
        response = page(client, car)
    assert response.context["entries"].paginator.count == 13
    assert len(many) == len(few)


def test_the_page_says_the_rate_assumed_the_rate_learned_and_from_how_many_readings(client_as, keeper, car):
    Battery.objects.create(vehicle=car, chemistry="calcium", capacity_ah=60, volts=12)
    page = client_as(keeper).get(reverse("car_curves", args=[car.pk])).content.decode()
    assert "Assumed from the tables: " in page
    assert "Readings used: 0." in page


# strips


def strips(response):
    return {strip.key: strip for strip in response.context["strips"]}


def test_two_years_are_drawn_in_five_strips_with_today_in_the_middle(client_as, keeper, car):
    Battery.objects.create(vehicle=car, chemistry="calcium", capacity_ah=60, volts=12)
    response = page(client_as(keeper), car)
    assert list(strips(response)) == ["battery", "fuel", "tyres", "air", "care"]
    assert {strip.today for strip in strips(response).values()} == {500}
    assert len(strips(response)["care"].months) == 24
    assert strips(response)["battery"].line.startswith("M")
    assert len(re.findall(r"<svg class=.strip-", body(response))) == 5


def test_what_was_done_is_a_stroke_in_its_strip_and_in_care(client_as, keeper, car):
    write(car, keeper, "charge", 73, details={"completed": True})
    write(car, keeper, "charge", 400, details={"completed": True})  # longer ago than is drawn
    shown = strips(page(client_as(keeper), car))
    assert [one.x for one in shown["battery"].done] == [one.x for one in shown["care"].done] == [400]
    assert shown["fuel"].done == []
    assert "Done once in the last year, last on 13 Sep 2026." in shown["battery"].sentence


def test_a_window_is_a_block_between_its_days(client_as, keeper, car):
    give_duties(car, tyre_move={"window": (ahead(73), ahead(146), ahead(219))}, charge={"hold": "tagged"})
    shown = strips(page(client_as(keeper), car))
    (block,) = [bar for bar in shown["tyres"].bars if bar.text == "Move (tyres)"]
    assert (block.x, block.width, block.due) == (600, 200, 700)
    assert shown["battery"].bars == []
    assert "Maintainer charge: on hold." in shown["battery"].sentence
    likely, by = (format_day(ahead(days)) for days in (146, 219))
    assert f"Move (tyres): likely due {likely}, by {by}." in shown["tyres"].sentence, (
        "the date of the due page too"
    )


def test_a_date_gone_by_is_since_its_one_date_as_on_the_due_page(client_as, keeper, car):
    late = {"window": (ahead(-30), ahead(-20), ahead(-10))}
    give_duties(car, tyre_move=late, tyre_pressure={"unknown": True})
    tyres = strips(page(client_as(keeper), car))["tyres"]
    assert "Tyre pressures: not known." in tyres.sentence, "no date stands on a guess"
    assert f"Move (tyres): since {format_day(ahead(-10))}." in tyres.sentence


def test_the_air_counts_its_damp_weeks(client_as, keeper, car):
    air = strips(page(client_as(keeper), car))["air"]
    damp, weeks = map(int, re.search(r"in (\d+) of (\d+) weeks", air.sentence).groups())
    assert 0 < damp < weeks == 104
    below = [float(y) for y in re.findall(r"[ML][\d.]+ ([\d.]+)", air.line)]
    assert min(below) < air.levels[0] < max(below)


def test_what_presses_can_be_logged_in_one_tap(client_as, keeper, viewer, car):
    give_duties(car, charge={"window": (ago(30), ago(20), ago(10))})
    response = page(client_as(keeper), car)
    assert [line.duty for line in response.context["pressing"]] == ["charge"]
    assert f'href="/cars/{car.pk}/log/charge/"' in body(response)
    assert "/log/" not in body(page(client_as(viewer), car)).split("The care log")[0]


# photographs


def picture(car, by, days_ago=3, **values):
    entry = write(car, by, "inspected", days_ago, details={"ok": True}, **values)
    facts = {"number": 1, "name": "Side.jpg", "type": "image/jpeg", "size": 9, "digest": "0" * 64}
    return Attachment.objects.create(entry=entry, **facts)


def test_a_chosen_photograph_is_the_cars_face_and_may_be_left_out_again(client_as, keeper, car):
    first, file = client_as(keeper), picture(car, keeper)
    shown = f'<img class="face" src="/cars/{car.pk}/entries/{file.entry_id}/files/{file.pk}/small/"'
    assert shown not in body(page(first, car))
    first.post(f"/cars/{car.pk}/photographs/show/", {"photograph": file.pk})
    assert shown in body(page(first, car))
    assert shown in first.get("/collection/").content.decode()
    first.post(f"/cars/{car.pk}/photographs/show/", {"photograph": ""})
    assert shown not in body(page(first, car))


def test_only_a_photograph_of_the_cars_own_standing_log_is_taken(client_as, keeper, car, neighbour_car):
    wrong, other = picture(car, keeper, 5), picture(neighbour_car, keeper)
    write(car, keeper, "withdrawn", 4, corrects=wrong.entry)
    for chosen in (wrong.pk, other.pk, "zeppelin", "0"):
        answer = client_as(keeper).post(
            f"/cars/{car.pk}/photographs/show/", {"photograph": chosen}, follow=True
        )
        assert "Choose a photograph of this car" in body(answer)
    car.refresh_from_db()
    assert car.photograph is None


def test_photographs_stand_latest_first_with_their_day(client_as, owner, keeper, car):
    old, new = picture(car, keeper, 30), picture(car, keeper, 2)
    response = page(client_as(owner), car, "photographs/")
    assert [file.pk for file in response.context["page"]] == [new.pk, old.pk]
    assert "Mon 23 Nov 2026" in body(response)
    assert "Show the car by this one" not in body(response)


def test_the_oldest_and_the_latest_photograph_stand_beside_each_other(client_as, keeper, car):
    client, old = client_as(keeper), picture(car, keeper, 30)
    assert page(client, car).context["then_and_now"] == []  # one alone shows no change
    picture(car, keeper, 10)
    new = picture(car, keeper, 2)
    assert page(client, car).context["then_and_now"] == [old, new]
    assert "Then and now" in body(page(client, car))

"""Duties that keepers add: a day or an interval, in every list, done by an entry that moves them on."""

from datetime import timedelta

import pytest
import time_machine
from django.core.exceptions import ValidationError
from django.urls import reverse

from collection.care.actions.care import log_entry
from collection.care.actions.record import Edit
from collection.cars.actions.own_duties import end_own_duty, save_own_duty
from collection.cars.record_words import record_lines
from collection.chain.verify import verify
from collection.due.cells import cells_of
from collection.life.duties import lines_of, order_of
from collection.life.refresh import recompute_stale, refresh_vehicles
from collection.models import DutyRow, Entry, OwnDuty
from collection.permissions import access_of
from collection.proof.actions import export_history
from collection.web.units import edge
from tests.barn import TODAY, make_car
from tests.logbook import NOON, ago, ahead


@pytest.fixture(autouse=True)
def _today():
    with time_machine.travel(NOON, tick=False):
        yield


def add(car, by, days_ago=0, **values):
    when = NOON - timedelta(days=days_ago)
    duty = OwnDuty(vehicle=car, **({"kind": "insurance", "title": "Insurance", "due_on": ahead(20)} | values))
    save_own_duty(duty=duty, edit=Edit(by, when), today=when.date())
    return duty


def done(duty, by, days_ago=0):
    when = NOON - timedelta(days=days_ago)
    return log_entry(
        vehicle=duty.vehicle,
        kind="own_duty",
        done_at=when,
        by=by,
        idempotency_key=f"{duty.code} {days_ago}",
        now=max(when, NOON),
        details={"own": duty.code, "what": duty.title},
    ).entry


def row(duty):
    return DutyRow.objects.get(vehicle=duty.vehicle, duty=duty.code)


def test_a_day_that_was_set_is_the_date_and_it_is_told_before(car, keeper):
    duty = add(car, keeper, remind_days=14)
    assert (row(duty).early, row(duty).due, row(duty).late) == (ahead(6), ahead(20), ahead(20))
    line = next(line for line in lines_of(car, TODAY) if line.duty == duty.code)
    assert (line.title, line.state, line.care_kind) == ("Insurance", "this_month", "own_duty")


def test_done_it_moves_on_by_its_interval_and_a_new_day_counts_again(car, keeper):
    duty = add(car, keeper, days_ago=30, due_on=ahead(2), interval="1 year")
    done(duty, keeper)
    assert row(duty).due == TODAY + timedelta(days=365)
    duty.due_on = ahead(300)
    save_own_duty(duty=duty, edit=Edit(keeper, NOON + timedelta(hours=1)), today=TODAY)
    assert row(duty).due == ahead(300)


def test_done_without_an_interval_it_rests_until_a_new_day_is_set(car, keeper):
    duty = add(car, keeper, days_ago=30, due_on=ahead(2))
    done(duty, keeper)
    assert (row(duty).due, row(duty).limit) == (None, "done, and no day is set")


def test_an_interval_alone_counts_from_the_day_it_was_added(car, keeper):
    duty = add(car, keeper, due_on=None, interval="2 weeks", kind="other_work", title="Turn the hubs")
    assert row(duty).due == ahead(14)
    done(duty, keeper, days_ago=3)
    assert row(duty).due == ahead(11)


def test_papers_have_their_own_cell_and_work_is_of_the_body(car, keeper):
    add(car, keeper, due_on=ago(3))
    add(car, keeper, kind="other_work", title="Turn the hubs", due_on=ahead(5))
    refresh_vehicles([car.pk], today=TODAY)
    cells = {cell.part.code: cell for cell in cells_of(lines_of(car, TODAY))}
    assert (cells["papers"].state, cells["papers"].line.title) == ("act_now", "Insurance")
    assert any(line.title == "Turn the hubs" for line in lines_of(car, TODAY))


PAGES = ("collection", "due", "timeline", "week", "worksheet")


@pytest.mark.parametrize("page", [*PAGES, "car", "history"])
def test_every_page_of_many_duties_opens_with_it(client_as, manager, car, page):
    duty = add(car, manager, due_on=ahead(1), minutes=20, kind="other_work", title="Turn the hubs")
    args = [car.pk] if page in ("car", "history") else []
    answer = client_as(manager).get(reverse(page, args=args))
    assert answer.status_code == 200
    if page not in ("collection", "week"):
        assert duty.title in answer.content.decode()


def test_the_worksheet_asks_for_it_and_takes_it_done(client_as, keeper, car):
    duty = add(car, keeper, days_ago=30, due_on=ahead(1), interval="1 year", title="Turn the hubs")
    other = add(car, keeper, days_ago=30, due_on=ahead(1), interval="1 year", kind="hood", title="Soft top")
    page = client_as(keeper).get(reverse("worksheet_car", args=[car.pk])).content.decode()
    assert f'value="{duty.code}"' in page
    assert f'value="{other.code}"' in page
    address = reverse("log_kind", args=[car.pk, "own_duty"])
    answer = client_as(keeper).post(f"{address}?duty={duty.code}", {"own": duty.code, "key": "a" * 12})
    assert answer.status_code == 302
    assert Entry.objects.get().details == {"own": duty.code, "what": "Turn the hubs"}
    assert row(duty).due > ahead(300)
    assert row(other).due == ahead(1)


def test_an_entry_names_a_duty_of_its_own_car(car, neighbour_car, keeper):
    duty = add(neighbour_car, keeper)
    duty.vehicle = car
    with pytest.raises(ValidationError, match="no such own duty"):
        done(duty, keeper)
    assert not Entry.objects.exists()


def test_it_stands_in_the_record_and_its_chain_and_ends_there(car, keeper):
    duty = add(car, keeper)
    end_own_duty(duty=duty, edit=Edit(keeper, NOON), today=TODAY)
    assert not DutyRow.objects.filter(duty=duty.code).exists()
    assert verify(export_history(car, now=NOON)).faults == []
    changed = " ".join(change for line in record_lines(car, edge("metric")) for change in line.changes)
    assert "Insurance" in changed
    OwnDuty.objects.update(title="Something else")
    assert verify(export_history(car, now=NOON)).faults


def test_one_that_a_keeper_added_keeps_no_date_fresh_by_itself(car, keeper):
    add(car, keeper)
    DutyRow.objects.filter(vehicle=car, duty="charge").delete()
    car.summary.delete()
    recompute_stale(access_of(keeper), TODAY)
    assert DutyRow.objects.filter(vehicle=car, duty="charge").exists()


def test_the_database_puts_it_where_the_program_does(client_as, manager, car):
    duty = add(car, manager, due_on=ago(1))
    row(duty)
    assert order_of("act_now", duty.code) < order_of("act_now", "axle_oil")
    page = client_as(manager).get(reverse("due"), {"duty": "own"}).content.decode()
    assert "Insurance" in page
    assert "Maintainer charge</strong>" not in page


@pytest.mark.parametrize(
    ("sent", "fault"),
    [
        ({"kind": "insurance", "remind_days": "30"}, "Give the day"),
        ({"kind": "tax_haven", "remind_days": "30", "due_on": ahead(3)}, "Select a valid choice"),
        ({"kind": "insurance", "remind_days": "400", "due_on": ahead(3)}, "less than or equal to 366"),
        ({"kind": "insurance", "remind_days": "3", "due_on": "9999-12-31"}, "within thirty years"),
        ({"kind": "insurance", "remind_days": "3", "number": "40", "unit": "year"}, "at most 30 years"),
    ],
)
def test_what_cannot_be_is_refused_and_nothing_is_kept(client_as, keeper, car, sent, fault):
    answer = client_as(keeper).post(reverse("own_duty_new", args=[car.pk]), {"unit": "month"} | sent)
    assert fault in answer.content.decode()
    assert not OwnDuty.objects.exists()


def test_it_is_added_changed_and_ended_at_its_pages_and_the_file_stays_with_its_entry(client_as, keeper, car):
    client = client_as(keeper)
    sent = {"kind": "roadworthiness", "due_on": ahead(9), "remind_days": "30", "unit": "month", "title": ""}
    answer = client.post(reverse("own_duty_new", args=[car.pk]), sent)
    duty = OwnDuty.objects.get()
    assert answer.url == reverse("own_duty", args=[car.pk, duty.code])
    assert duty.title == "Roadworthiness test"
    edit = reverse("own_duty_edit", args=[car.pk, duty.code])
    client.post(edit, sent | {"title": "Main test", "due_on": ahead(12)})
    assert row(duty).title == "Main test"
    assert client.get(reverse("why", args=[car.pk, duty.code])).url == answer.url
    done(duty, keeper)
    assert "Main test" in client.get(answer.url).content.decode()
    client.post(edit, {"end": "1"})
    assert OwnDuty.objects.get().ended_on == TODAY


def test_one_may_be_added_to_every_car_of_a_make_and_model(
    client_as, keeper, car, neighbour_car, foreign_car
):
    twin = make_car(car.organisation, car.owner, marque=car.marque.upper())
    sent = {"kind": "timing_belt", "number": "5", "unit": "year", "remind_days": "60", "alike": "on"}
    client_as(keeper).post(reverse("own_duty_new", args=[car.pk]), sent)
    assert {duty.vehicle for duty in OwnDuty.objects.all()} == {car, twin}
    assert len({duty.code for duty in OwnDuty.objects.all()}) == 2
    assert verify(export_history(twin, now=NOON)).faults == []


def test_who_may_only_see_changes_nothing(client_as, viewer, keeper, car, outsider):
    duty = add(car, keeper)
    address = reverse("own_duty", args=[car.pk, duty.code])
    assert client_as(viewer).get(address).status_code == 200
    assert client_as(viewer).post(f"{address}edit/", {"end": "1"}).status_code == 403
    assert client_as(outsider).get(address).status_code == 404
    assert client_as(viewer).get(reverse("own_duty", args=[car.pk, f"own-{duty.ref}"])).status_code == 404

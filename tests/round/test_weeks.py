"""The week's round: which tasks, in which order, logged in place, printed for the clipboard."""

import re
from datetime import UTC, date, datetime, timedelta

import pytest
from django.urls import reverse

from collection.care.actions.care import log_entry
from collection.life.refresh import MODELS_VERSION
from collection.models import Bay, Building, DutyRow, Entry, Owner, Site
from collection.permissions import access_of
from collection.round.queries.kit import kit
from collection.round.queries.staff import owned_at
from collection.round.queries.weeks import week_of, week_sheet
from scheduler.vocabulary.duties import DUTY
from tests.barn import TODAY, make_car

MONDAY, SUNDAY = date(2026, 11, 23), date(2026, 11, 29)  # TODAY is the Wednesday between
NOW = datetime(2026, 11, 25, 10, 0, tzinfo=UTC)
WEEK = week_of(TODAY)


def duty(car, name="charge", *, due=TODAY, early=None, late=None, hold=""):
    """A computed duty, as fresh as the site's own, so that reading leaves it alone."""
    return DutyRow.objects.update_or_create(
        vehicle=car,
        duty=name,
        defaults={
            "early": early,
            "due": due,
            "late": late,
            "hold": hold,
            "limit": "recharge threshold",
            "assumed": False,
            "unknown": False,
            "computed_for": TODAY,
            "computed_at": NOW,
            "models_version": MODELS_VERSION,
            "fingerprint": "as computed",
        },
    )[0]


def fresh(car, **tasks):
    """All duties of a car computed and far off, but for those given."""
    for code in DUTY:
        duty(car, code, **({"due": date(2030, 1, 1)} | tasks.get(code, {})))


@pytest.fixture
def site(barn):
    return barn.sites.get()


@pytest.fixture
def sheet(keeper, site):
    def read(week=WEEK, today=TODAY):
        return week_sheet(access_of(keeper), site=site, week=week, today=today)

    return read


@pytest.fixture
def week_page(client_as, keeper, time_machine):
    time_machine.move_to(NOW, tick=False)
    client = client_as(keeper)

    def get(**query):
        return client.get(reverse("week"), query)

    get.client = client
    return get


def shown(response):
    return re.sub(r"\s+", " ", response.content.decode())


# --- which tasks ---------------------------------------------------------------------------------


def test_a_week_runs_from_monday_to_sunday():
    assert {week_of(MONDAY + timedelta(days=n)) for n in range(7)} == {WEEK}
    assert (WEEK.monday, WEEK.sunday) == (MONDAY, SUNDAY)


@pytest.mark.parametrize(
    ("window", "listed"),
    [
        ({"due": SUNDAY}, "must"),
        ({"due": TODAY - timedelta(days=90), "late": TODAY - timedelta(days=60)}, "must"),
        ({"due": SUNDAY + timedelta(days=1), "early": SUNDAY}, "may"),
        ({"due": SUNDAY + timedelta(days=29), "early": SUNDAY}, ""),
        ({"due": None, "early": TODAY}, ""),
        ({"due": SUNDAY + timedelta(days=1), "early": SUNDAY + timedelta(days=1)}, ""),
        ({"due": None}, ""),
    ],
)
def test_late_and_due_tasks_are_listed_and_early_ones_may_be_done_on_the_visit(sheet, car, window, listed):
    duty(car, "charge", due=TODAY)
    duty(car, "coolant", **window)
    tasks = [task for task in sheet().tasks if task.line.duty == "coolant"]
    assert ["may" if task.optional else "must" for task in tasks] == ([listed] if listed else [])


def test_nobody_walks_to_a_car_only_for_what_may_wait(sheet, car):
    duty(car, due=SUNDAY + timedelta(days=1), early=SUNDAY)
    assert not sheet().stops


def test_a_week_to_come_lists_its_own_tasks_and_counts_those_that_stand_before_it(sheet, car):
    duty(car, "charge", due=TODAY)
    duty(car, "coolant", due=SUNDAY + timedelta(days=3))
    read = sheet(week_of(WEEK.after))
    assert [task.line.duty for task in read.tasks] == ["coolant"]
    assert read.before == 1


def test_a_week_that_is_over_offers_nothing_on_the_same_visit(sheet, car):
    duty(car, due=SUNDAY, early=date(2026, 1, 1))
    assert not sheet(week_of(WEEK.before)).tasks


def test_a_held_task_stands_apart_with_its_reason(sheet, car):
    duty(car, "run_up", due=TODAY, hold="preserved: never started")
    read = sheet()
    assert not read.tasks
    assert [line.hold for line in read.held] == ["preserved: never started"]


def test_a_car_that_left_has_no_tasks(sheet, car):
    duty(car)
    car.left_on = TODAY
    car.save()
    assert not sheet().tasks


def test_a_car_at_another_site_is_not_on_this_sheet(sheet, car, barn, site):
    duty(car)
    other = Site.objects.create(organisation=barn, name="Far", climate=site.climate)
    building = Building.objects.create(site=other, name="Barn", shelter="open")
    car.bay = Bay.objects.create(building=building, row="A", place=1)
    car.save()
    assert not sheet().tasks


def test_the_round_is_walked_in_order_of_building_row_and_place_and_ends_with_cars_in_no_bay(
    sheet, barn, site
):
    owner = Owner.objects.create(organisation=barn, name="Ada Wren")
    shed = site.buildings.get()
    yard = Building.objects.create(site=site, name="A yard", shelter="open", walk_order=2)
    places = [(None, "", 0), (yard, "A", 1), (shed, "10", 1), (shed, "2", 11), (shed, "2", 2)]
    for building, row, place in places:
        bay = Bay.objects.create(building=building, row=row, place=place) if building else None
        duty(make_car(barn, owner, bay, model=f"{building and building.name} {row}/{place}"))
    assert [stop.vehicle.model for stop in sheet().stops] == [
        "Long shed 2/2",
        "Long shed 2/11",
        "Long shed 10/1",
        "A yard A/1",
        "None /0",
    ]


def test_the_tasks_of_a_car_stand_together(sheet, car, neighbour_car):
    for each in (car, neighbour_car):
        duty(each, "charge")
        duty(each, "coolant")
    assert [(stop.vehicle, len(stop.tasks)) for stop in sheet().stops] == [(car, 2), (neighbour_car, 2)]


def log(car, keeper, kind, **said):
    said = {"details": {}, "done_at": NOW, "idempotency_key": f"{kind}-{car.pk}"} | said
    return log_entry(vehicle=car, kind=kind, by=keeper, now=NOW, **said).entry


def test_what_was_done_this_week_is_shown_and_what_was_withdrawn_is_not(sheet, car, keeper):
    log(car, keeper, "note", note="last week", done_at=NOW - timedelta(days=7), idempotency_key="w")
    kept = log(car, keeper, "inspected", details={"ok": True})
    gone = log(car, keeper, "maintainer", details={"state": "on"})
    log(car, keeper, "withdrawn", corrects=gone)
    assert [entry for stop in sheet().stops for entry in stop.done] == [kept]


def test_the_week_starts_at_midnight_at_the_site(sheet, car, keeper, site):
    site.time_zone = "Asia/Tokyo"
    site.save()
    sunday_evening_utc = datetime(2026, 11, 22, 16, 0, tzinfo=UTC)  # Monday 01:00 at the site
    entry = log(car, keeper, "inspected", details={"ok": True}, done_at=sunday_evening_utc)
    assert [e for stop in sheet().stops for e in stop.done] == [entry]


# --- what to bring -------------------------------------------------------------------------------


def test_what_to_bring_is_counted_and_names_leads_and_doses(sheet, car, neighbour_car, keeper, barn):
    third = make_car(barn, car.owner, Bay.objects.get(place=3), model="Three")
    log(car, keeper, "stabiliser", details={"litres": 40, "dose_ml": 80}, done_at=NOW - timedelta(days=300))
    DutyRow.objects.all().delete()
    for each in (car, neighbour_car, third):
        duty(each, "charge")
        duty(each, "run_up")
        duty(each, "tyre_move")
    for each in (car, neighbour_car):
        duty(each, "stabiliser")
    duty(third, "brake_fluid", due=date(2027, 3, 1), early=TODAY)
    items = {item.name: item for item in kit(sheet().stops, owned_at(barn.sites.get()))}
    assert items["charger"].count == 3
    assert items["charger"].remark.startswith("1 without a power outlet")
    assert items["car key"].count == 3
    assert items["dose of stabiliser"].count == 2
    assert items["dose of stabiliser"].remark == (
        "80 ml for 1 by the last dose; 1 by the label, for the litres in the tank"
    )
    assert items["voltmeter"].count is None
    assert "bleeding kit" not in items
    barn.sites.get().equipment.create(kind="charger", count=2)
    two = next(item for item in kit(sheet().stops, owned_at(barn.sites.get())) if item.name == "charger")
    assert two.count == 2
    assert two.remark.startswith("for 3 cars: in turns")


# --- the page ------------------------------------------------------------------------------------


def test_each_task_says_why_and_what_to_mind_and_has_both_its_forms_in_place(week_page, car):
    fresh(car, charge={"due": TODAY})
    text = shown(week_page())
    assert "Because: recharge threshold." in text
    assert "Mind: hydrogen and acid" in text
    assert text.count("switch the charger off before clipping") == 3  # at the top, at the step, on paper
    assert f'action="{reverse("log_kind", args=[car.pk, "charge"])}?duty=charge"' in text
    assert f'action="{reverse("log_kind", args=[car.pk, "not_done"])}?duty=charge"' in text
    assert reverse("why", args=[car.pk, "charge"]) in text


def forms_of(response):
    """The forms in place, as a browser would send them: address and filled-in fields."""
    for address, body in re.findall(
        r'<form method="post" class="at-car" action="([^"]+)">(.*?)</form>',
        response.content.decode(),
        re.DOTALL,
    ):
        hidden = re.findall(r'<input type="hidden" name="(\w+)" value="([^"]*)"', body)
        yield address.replace("&amp;", "&"), {n: v.replace("&amp;", "&") for n, v in hidden}


def test_what_may_be_done_on_the_visit_has_a_way_to_its_form_and_back(week_page, car):
    fresh(car, coolant={"due": TODAY}, charge={"due": SUNDAY + timedelta(days=9), "early": TODAY})
    text = week_page().content.decode()
    assert not [form for form in forms_of(week_page()) if "/charge/" in str(form)]
    link = re.search(r'href="([^"]+/log/charge/[^"]+)"\s*>Maintainer charge<', text)[1].replace("&amp;", "&")
    form_page = week_page.client.get(link)
    assert form_page.context["form"].kind == "charge"
    assert form_page.context["next"].endswith(f"&from={MONDAY}#car-{car.pk}")


def test_done_in_place_logs_returns_to_the_week_and_shows_who_did_it(week_page, car, keeper):
    fresh(car, charge={"due": TODAY})
    address, fields = next(forms_of(week_page()))
    answer = week_page.client.post(address, fields | {"completed": "on", "rested_volts": "12.5"})
    assert answer.status_code == 302
    assert answer.url.startswith(reverse("week"))
    assert answer.url.endswith(f"#car-{car.pk}")
    entry = Entry.objects.get()
    assert (entry.kind, entry.done_at, entry.by) == ("charge", NOW, keeper)
    text = shown(week_page())
    assert "✓ <strong>Battery charge</strong> by Keeper, Wed 25 Nov 2026, 10:00" in text
    assert "?duty=charge" not in text


def test_not_done_in_place_keeps_the_task_with_the_reason(week_page, car):
    fresh(car, charge={"due": TODAY})
    address, fields = list(forms_of(week_page()))[1]
    answer = week_page.client.post(address, fields | {"reason": "Locked, no key", "words": "owner has it"})
    assert answer.status_code == 302
    assert Entry.objects.get().details == {"duty": "charge", "reason": "Locked, no key: owner has it"}
    fresh(car, charge={"due": TODAY})
    text = shown(week_page())
    assert "<strong>Not done</strong> (Locked, no key: owner has it), Keeper" in text
    assert "?duty=charge" in text


def test_a_fault_in_place_is_shown_on_the_full_form_with_the_way_back_kept(week_page, car):
    fresh(car, charge={"due": TODAY})
    address, fields = next(forms_of(week_page()))
    answer = week_page.client.post(address, fields | {"completed": "on", "rested_volts": "99"})
    assert answer.status_code == 200
    assert "99 is out of range" in shown(answer)
    assert answer.context["next"] == fields["next"]


@pytest.mark.parametrize("name", list(DUTY))
def test_every_duty_can_be_logged_in_place(week_page, car, name):
    fresh(car, **{name: {"due": TODAY}})
    assert len(list(forms_of(week_page()))) == 2


def test_the_paper_leaves_room_for_each_reading_and_carries_the_cautions(week_page, car):
    fresh(car, charge={"due": TODAY})
    paper = shown(week_page()).split('class="print-only paper"')[1]
    assert "Worksheet, Hollin: Mon 23 Nov 2026 to Sun 29 Nov 2026" in paper
    assert 'Rested volts, V <span class="line">' in paper
    assert "☐ Charged in full" in paper
    assert "☐ done ☐ not done" in paper
    assert "Hydrogen and acid." in paper


def test_the_week_asked_for_is_the_one_that_holds_the_day(week_page, car):
    text = shown(week_page(**{"from": "2026-12-09"}))
    assert "Week of Mon 7 Dec 2026" in text
    assert "from=2026-11-30" in text
    assert "from=2026-12-14" in text


@pytest.mark.parametrize("nonsense", ["soon", "2026-13-01", "9999-12-31", "0001-01-01"])
def test_a_week_that_is_none_is_said_and_this_week_is_shown(week_page, car, nonsense):
    answer = week_page(**{"from": nonsense})
    assert answer.status_code == 200
    assert "Week of Mon 23 Nov 2026" in shown(answer)
    assert "from is no date" in shown(answer)


@pytest.mark.parametrize("wrong", ["999999", "x", "-1"])
def test_a_site_that_is_not_ours_is_not_found(week_page, wrong):
    assert week_page(site=wrong).status_code == 404


def test_a_foreign_site_is_not_found(week_page, other_barn):
    assert week_page(site=other_barn.sites.get().pk).status_code == 404


@pytest.mark.parametrize(("who", "status"), [("owner", 403), ("stranger", 403), ("manager", 200)])
def test_the_week_is_for_those_who_work(client_as, car, who, status, request):
    assert client_as(request.getfixturevalue(who)).get(reverse("week")).status_code == status


def test_without_a_site_the_page_says_what_to_do(client_as, manager, barn):
    Bay.objects.all().delete()
    Building.objects.all().delete()
    Site.objects.all().delete()
    assert "No car stands here yet" in shown(client_as(manager).get(reverse("week")))


@pytest.mark.parametrize("many", [2, 20])
def test_the_page_takes_as_many_queries_for_twenty_cars_as_for_two(
    week_page, barn, site, keeper, many, django_assert_num_queries
):
    owner = Owner.objects.create(organisation=barn, name="Ada Wren")
    shed = site.buildings.get()
    for number in range(many):
        car = make_car(barn, owner, Bay.objects.create(building=shed, row="Q", place=number + 1))
        log(car, keeper, "inspected", details={"ok": True})
        log(car, keeper, "tag_opened", details={"tag": "danger", "where": "seat"})
        fresh(car, charge={"due": TODAY}, tyre_pressure={"due": TODAY})
    with django_assert_num_queries(21):
        answer = week_page()
    assert len(answer.context["sheet"].stops) == many

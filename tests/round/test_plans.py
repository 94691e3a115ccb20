"""The weeks as planned: staff and equipment in, days and people out, choices by hand kept."""

import re
from datetime import UTC, date, datetime, time, timedelta
from itertools import pairwise
from math import ceil

import pytest
from django.urls import reverse
from django_q.models import OrmQ, Success

from collection import tasks
from collection.care.actions.care import log_entry
from collection.life import queries as runs
from collection.life.duties import DUTY_TITLES
from collection.models import (
    Assignment,
    Bay,
    Building,
    DutyRow,
    EquipmentKind,
    Hand,
    Holiday,
    OpeningHours,
    OtherHours,
    Owner,
    PinnedChoice,
    SitePlan,
    StormDay,
    Unplaced,
)
from collection.round.actions.plans import kept_plan, plan_now
from collection.round.actions.staff import add_way
from collection.round.core.facts import facts_of
from collection.round.core.request import intervals, request_of
from collection.round.queries.plans import loads
from collection.round.queries.staff import live_choices
from scheduler.week.planner import plan
from tests.barn import TODAY, make_car, make_person
from tests.round.test_weeks import duty, fresh
from tests.scheduler.week.rules import broken

NOW = datetime(2026, 11, 25, 10, 0, tzinfo=UTC)  # a Wednesday
FRIDAY = date(2026, 11, 27)
FOUR_HOURS = dict.fromkeys(("monday", "tuesday", "wednesday", "thursday", "friday"), 240)
SOON = {"early": TODAY, "due": FRIDAY, "late": TODAY + timedelta(days=20)}
OVERDUE = {
    "early": TODAY - timedelta(days=40),
    "due": TODAY - timedelta(days=30),
    "late": TODAY - timedelta(days=20),
}


@pytest.fixture
def site(barn):
    return barn.sites.get()


@pytest.fixture
def hand(site, keeper):
    site.equipment.create(kind=EquipmentKind.CHARGER, count=1)
    site.equipment.create(kind=EquipmentKind.EXHAUST_PLACE, count=1)
    return Hand.objects.create(site=site, person=keeper, may=list(DUTY_TITLES), **FOUR_HOURS)


@pytest.fixture
def at_ten(time_machine):
    time_machine.move_to(NOW, tick=False)
    return NOW


@pytest.fixture
def planned(site, at_ten):
    """The plan as of now."""

    def work_out():
        return kept_plan(site=site, today=TODAY, now=NOW).plan

    return work_out


@pytest.fixture
def page(client_as, keeper, at_ten):
    client = client_as(keeper)

    def get(name="week", *args, **query):
        answer = client.get(reverse(name, args=args), query)
        assert answer.status_code == 200
        return re.sub(r"\s+", " ", answer.content.decode())

    get.client = client
    return get


def step(car, name):
    return Assignment.objects.get(vehicle=car, key=f"{car.pk}/{name}")


# what there is to work with


def test_without_hands_the_week_stands_by_due_date_and_says_why(page, car, site):
    fresh(car, charge={"due": TODAY})
    shown = page()
    assert "Nobody's hours at Hollin are recorded" in shown
    assert "Maintainer charge" in shown
    assert not SitePlan.objects.exists()


def test_hours_of_nought_are_no_error_nothing_fits_and_the_page_says_so(page, car, hand):
    Hand.objects.update(**dict.fromkeys(FOUR_HOURS, 0))
    fresh(car, charge=SOON)
    shown = page()
    assert "nothing fits" in shown
    assert not Assignment.objects.exists()
    assert set(Unplaced.objects.values_list("duty", flat=True)) == {"charge"}
    assert "cannot be done in time" in shown


def test_a_task_is_placed_within_its_window_with_day_person_time_and_reason(page, car, hand):
    fresh(car, charge=SOON)
    shown = page()
    row = step(car, "charge")
    assert TODAY <= row.day <= SOON["late"]
    assert (row.person, row.minutes) == (hand.person, 15)
    assert row.reason.startswith("Due Fri 27 Nov")
    assert row.reason in shown
    assert "Pin, move or assign" in shown


def test_what_was_overdue_before_the_plan_began_stands_apart_from_what_cannot_fit(page, car, hand):
    fresh(car, charge=OVERDUE)
    shown = page()
    assert "1 task was late before the plan began" in shown
    assert "cannot be done in time" not in shown


def test_the_plan_breaks_none_of_the_hard_rules(car, neighbour_car, hand, site, at_ten):
    every = dict.fromkeys(DUTY_TITLES, SOON)
    for one in (car, neighbour_car):
        fresh(one, **every)
    request, _ = request_of(facts_of(site, TODAY), steps=100)
    found = plan(request)
    assert found.placements
    assert broken(request, found) == ()


def test_care_comes_round_again_within_the_twelve_weeks(planned, car, hand):
    fresh(car, inspection=SOON)
    planned()
    days = list(Assignment.objects.filter(vehicle=car, duty="inspection").values_list("day", flat=True))
    assert len(days) >= 2
    assert all(later - earlier > timedelta(days=10) for earlier, later in pairwise(days))


def test_nobody_works_on_a_holiday_a_closed_day_or_a_day_off(planned, car, hand, site, keeper):
    for n in range(3):
        Holiday.objects.create(site=site, day=TODAY + timedelta(days=n), name="Fair")
    OtherHours.objects.create(site=site, person=keeper, day=date(2026, 11, 30), minutes=0)
    fresh(car, charge=SOON, tyre_pressure=SOON)
    planned()
    assert {row.day for row in Assignment.objects.filter(due__lte=SOON["late"])} >= {step(car, "charge").day}
    assert step(car, "charge").day >= date(2026, 12, 1)


def test_no_yard_work_on_a_storm_day_or_below_the_chosen_cold(planned, barn, site, hand, car):
    yard = Building.objects.create(site=site, name="Yard", shelter="open", walk_order=2)
    out = make_car(barn, car.owner, Bay.objects.create(building=yard, row="Y", place=1), model="Nine")
    for n in range(6):
        StormDay.objects.create(site=site, day=TODAY + timedelta(days=n))
    fresh(out, charge=SOON)
    planned()
    assert step(out, "charge").day > TODAY + timedelta(days=5)
    site.coldest_yard_c = 15
    site.save()
    planned()
    assert not Assignment.objects.filter(vehicle=out, key=f"{out.pk}/charge").exists()
    assert "too cold or stormy" in Unplaced.objects.get(key=f"{out.pk}/charge").why


@pytest.mark.parametrize("an_empty_bay_between", [False, True])
def test_the_car_in_front_is_rolled_out_first(planned, car, neighbour_car, hand, bays, an_empty_bay_between):
    car.bay.exhaust_extraction = False
    car.bay.save()
    if an_empty_bay_between:
        car.bay.blocked_by.add(bays[2])
        bays[2].blocked_by.add(neighbour_car.bay)
    else:
        car.bay.blocked_by.add(neighbour_car.bay)
    fresh(car, run_up=SOON)
    fresh(neighbour_car)
    planned()
    run = step(car, "run_up")
    rolled = Assignment.objects.get(vehicle=neighbour_car, day=run.day)
    assert (rolled.day, rolled.person) == (run.day, run.person)
    assert rolled.start + rolled.minutes <= run.start
    assert "to reach 1962 Wendlow Twelve" in rolled.reason


def test_a_car_on_stands_in_front_is_named_as_what_stops_it(planned, car, neighbour_car, hand):
    car.bay.exhaust_extraction = False
    car.bay.save()
    car.bay.blocked_by.add(neighbour_car.bay)
    neighbour_car.on_stands = True
    neighbour_car.save()
    fresh(car, run_up=SOON)
    fresh(neighbour_car)
    planned()
    trouble = Unplaced.objects.get(key=f"{car.pk}/run_up")
    assert "cannot be moved" in trouble.why
    assert any("on stands" in remedy for remedy in trouble.would_fit)


# choices by hand


def choose(page, car, name="charge", **sent):
    return page.client.post(reverse("choose", args=[car.pk, name]), sent)


def test_a_pinned_day_is_kept_when_everything_else_is_planned_anew(page, car, neighbour_car, hand, planned):
    day = date(2026, 12, 3)
    fresh(car, charge=SOON)
    assert choose(page, car, day=day.isoformat()).status_code == 302
    assert step(car, "charge").day == day
    fresh(neighbour_car, charge=OVERDUE, tyre_pressure=OVERDUE)
    planned()
    row = step(car, "charge")
    assert (row.day, row.reason.split(".")[0]) == (day, "Pinned to this day by hand")


def test_a_task_given_to_a_person_is_theirs(page, car, hand, site, manager):
    Hand.objects.create(site=site, person=manager, may=list(DUTY_TITLES), **FOUR_HOURS)
    fresh(car, charge=SOON)
    for person in (manager, hand.person):
        choose(page, car, person=person.pk)
        assert step(car, "charge").person == person
    assert PinnedChoice.objects.count() == 1
    choose(page, car, free="1", person=manager.pk)
    assert not PinnedChoice.objects.exists()


def test_a_past_day_and_a_person_without_hours_are_refused_and_nothing_is_kept(page, car, hand, manager):
    fresh(car, charge=SOON)
    past = choose(page, car, day="2026-11-24")
    assert "That day is past" in past.context["form"].errors["day"][0]
    stranger = choose(page, car, person=manager.pk)
    assert "person" in stranger.context["form"].errors
    assert not PinnedChoice.objects.exists()


def test_a_duty_that_does_not_exist_has_no_page(page, car, hand):
    assert page.client.get(reverse("choose", args=[car.pk, "polish"])).status_code == 404


def test_a_choice_lapses_once_the_work_is_done_or_its_day_is_past(page, car, hand, keeper):
    fresh(car, charge=SOON)
    choose(page, car, day=FRIDAY.isoformat())
    assert len(live_choices([car.pk], TODAY)) == 1
    assert live_choices([car.pk], FRIDAY + timedelta(days=1)) == []
    PinnedChoice.objects.update(chosen_at=NOW - timedelta(hours=1))
    url = reverse("log_kind", args=[car.pk, "charge"])
    form = page.client.get(url).context["form"]
    key = form["idempotency_key"].value() if "idempotency_key" in form.fields else form["key"].value()
    name = "idempotency_key" if "idempotency_key" in form.fields else "key"
    assert page.client.post(url, {name: key, "when": "now", "completed": "on"}).status_code == 302
    assert live_choices([car.pk], TODAY) == []


def test_planning_again_after_one_small_change_leaves_the_rest_where_it_was(planned, barn, site, hand, car):
    shed = site.buildings.get()
    cars = [
        make_car(barn, car.owner, Bay.objects.create(building=shed, row="Q", place=n + 1), model=f"No {n}")
        for n in range(6)
    ]
    for n, one in enumerate(cars):
        fresh(one, charge=SOON | {"due": FRIDAY + timedelta(days=n)})
    fresh(car)
    planned()
    before = {row.key: row.day for row in Assignment.objects.all()}
    fresh(car, charge=SOON)
    planned()
    after = {row.key: row.day for row in Assignment.objects.all()}
    assert step(car, "charge")
    assert {key for key in before if before[key] != after.get(key)} == set()


# kept true


def test_the_same_facts_are_not_worked_out_twice_and_a_change_is(planned, car, hand):
    fresh(car, charge=SOON)
    first = set(Assignment.objects.filter(plan=planned()).values_list("pk", flat=True))
    planned()
    assert set(Assignment.objects.values_list("pk", flat=True)) == first
    duty(car, "charge", due=TODAY, early=TODAY, late=TODAY)
    car.duties.update(computed_at=NOW + timedelta(seconds=1))  # all at one moment, as they are worked out
    planned()
    assert set(Assignment.objects.values_list("pk", flat=True)).isdisjoint(first)


def test_where_a_worker_runs_the_old_plan_is_shown_and_the_new_one_asked_for_once(
    page, car, hand, planned, django_capture_on_commit_callbacks
):
    fresh(car, charge=SOON)
    planned()
    Success.objects.create(
        id="beat", name="beat", func=runs.HEARTBEAT, started=NOW, stopped=NOW, success=True
    )
    duty(car, "charge", **OVERDUE)
    with django_capture_on_commit_callbacks(execute=True):
        assert "being worked out anew" in page()
        assert "being worked out anew" in page()
    jobs = [job.task["func"] for job in OrmQ.objects.all()]
    assert jobs == ["collection.tasks.plan_site"]
    tasks.plan_site(hand.site_id)
    assert "being worked out anew" not in page()


def test_the_background_looks_at_every_site_with_hands(barn, other_barn, hand, car, at_ten):
    tasks.plan_sites()
    assert [job.task["args"] for job in OrmQ.objects.all()] == [(hand.site_id,)]
    tasks.plan_site(hand.site_id)
    first = SitePlan.objects.get().computed_at
    tasks.plan_site(hand.site_id)
    assert SitePlan.objects.get().computed_at == first
    tasks.plan_site(987654)


def test_cars_of_another_organisation_are_in_no_plan_here(planned, car, foreign_car, hand):
    fresh(car, charge=SOON)
    fresh(foreign_car, charge=SOON)
    planned()
    assert set(Assignment.objects.values_list("vehicle", flat=True)) == {car.pk}


# the page of the week


def test_one_persons_week_shows_their_steps_only(page, car, neighbour_car, hand, site, manager):
    Hand.objects.create(site=site, person=manager, may=list(DUTY_TITLES), **FOUR_HOURS)
    for one in (car, neighbour_car):
        fresh(one, charge=SOON)
    choose(page, car, day=FRIDAY.isoformat(), person=hand.person_id)
    choose(page, neighbour_car, day=FRIDAY.isoformat(), person=manager.pk)
    mine = page.client.get(reverse("week"), {"person": hand.person_id}).context["days"]
    cars = {card.visit.vehicle for _, shifts in mine for _, cards in shifts for card in cards}
    assert cars == {car}


def test_a_week_beyond_the_plan_or_before_it_stands_by_due_date(page, car, hand):
    fresh(car, charge=SOON)
    for monday in ("2026-11-16", "2027-06-07"):
        assert "planned" not in page.client.get(reverse("week"), {"from": monday}).context


@pytest.mark.parametrize("name", ["week", "floor_plan", "calendar"])
def test_the_pages_cost_the_same_queries_for_twenty_cars_as_for_two(
    page, barn, site, hand, name, django_assert_max_num_queries
):
    owner, shed = Owner.objects.create(organisation=barn, name="Ada Wren"), site.buildings.get()
    spent = []
    for upto in (2, 20):
        for n in range(site.buildings.get().bays.filter(row="Q").count(), upto):
            bay = Bay.objects.create(building=shed, row="Q", place=n + 1)
            fresh(make_car(barn, owner, bay, model=f"No {n}"), charge=SOON, tyre_pressure=SOON)
        page(name)
        with django_assert_max_num_queries(80) as counted:
            page(name)
        spent.append(len(counted))
    assert spent[0] == spent[1]


def test_the_worksheet_and_its_paper_follow_the_plan(page, car, hand):
    fresh(
        car, charge=SOON | {"due": date(2027, 3, 1), "late": date(2027, 6, 1)}, tyre_pressure={"due": FRIDAY}
    )
    choose(page, car, day=FRIDAY.isoformat())
    choose(page, car, "tyre_pressure", day="2026-12-10")
    sheet = page.client.get(reverse("worksheet")).context["sheet"]
    must = {task.line.duty: task.optional for task in sheet.tasks}
    assert must == {"charge": False, "tyre_pressure": True}
    shown = page("worksheet_car", car.pk)
    assert "Planned for Fri 27 Nov 2026, Keeper. Pinned to this day by hand." in shown
    assert page.client.get(reverse("worksheet_paper")).headers["Content-Type"] == "application/pdf"


# the weeks ahead


def test_the_load_of_the_weeks_is_that_of_their_steps_against_the_hours(page, planned, car, hand, site):
    fresh(car, charge=SOON, inspection=SOON)
    found = loads(planned())
    assert sum(load.planned for load in found) == sum(Assignment.objects.values_list("minutes", flat=True))
    assert [load.minutes for load in found[:2]] == [3 * 240, 5 * 240]  # from Wednesday on, then a whole week
    Holiday.objects.create(site=site, day=date(2026, 12, 1), name="Fair")
    assert loads(planned())[1].minutes == 4 * 240
    shown = page("calendar")
    assert "The coming twelve weeks" in shown
    assert "The year ahead" in shown


def test_a_duty_comes_round_as_the_forecast_has_it_once_it_was_really_done(car, hand, keeper, site, at_ten):
    fresh(car, inspection={"due": TODAY})
    between = intervals(facts_of(site, TODAY))[car.pk, "inspection"]
    log_entry(
        vehicle=car,
        kind="inspected",
        done_at=None,
        by=keeper,
        idempotency_key="walked",
        now=NOW,
        details={"ok": True},
    )
    assert (DutyRow.objects.get(vehicle=car, duty="inspection").due - TODAY).days == int(between)


def test_the_year_counts_every_round_of_a_duty(planned, car, hand, site):
    fresh(car, inspection={"early": TODAY, "due": TODAY, "late": TODAY + timedelta(days=9)})
    lines = [line for line in planned().year if line[1] == "inspection"]
    between = intervals(facts_of(site, TODAY))[car.pk, "inspection"]
    assert sum(count for _, _, count, _ in lines) == ceil(365 / between)
    assert all(minutes == 10 * count for _, _, count, minutes in lines)


# staff and equipment


@pytest.fixture
def hands_page(client_as, manager, site, at_ten):
    client, url = client_as(manager), reverse("staff", args=[site.pk])

    def send(part, **sent):
        return client.post(url, {"part": part} | sent)

    send.client, send.url = client, url
    return send


def week_sent(person, may=("charge",), **hours):
    days = {f"hand-{person.pk}-{day}": hours.get(day, "") for day in FOUR_HOURS}
    return days | {f"hand-{person.pk}-may": list(may)}


def test_hours_are_typed_as_hours_and_kept_as_minutes(hands_page, site, keeper, manager):
    sent = week_sent(keeper, monday="7.5", tuesday="7:30", friday="4,25") | week_sent(manager, may=())
    assert hands_page("hand", **sent).status_code == 302
    row = Hand.objects.get()
    assert (row.person, row.week, row.may) == (keeper, [450, 450, 0, 0, 255, 0, 0], ["charge"])


@pytest.mark.parametrize("typed", ["25", "-1", "many", "nan"])
def test_hours_that_cannot_be_are_told_at_their_field_and_nothing_is_kept(hands_page, hand, keeper, typed):
    answer = hands_page("hand", **week_sent(keeper, monday=typed))
    assert answer.status_code == 200
    assert any("monday" in form.errors for form in answer.context["forms"]["hand"])
    assert Hand.objects.get().monday == 240


def test_opening_hours_need_both_times_in_order(hands_page, site):
    both = hands_page("open", **{"open-0-opens": "08:00", "open-1-opens": "17:00", "open-1-closes": "08:00"})
    faults = [form.errors for form in both.context["forms"]["open"][:2]]
    assert "Give both times" in faults[0]["closes"][0]
    assert "closes before it opens" in faults[1]["closes"][0]
    assert not OpeningHours.objects.exists()
    assert hands_page("open", **{"open-0-opens": "08:00", "open-0-closes": "12:00"}).status_code == 302
    assert [(row.weekday, row.opens, row.closes) for row in OpeningHours.objects.all()] == [
        (0, time(8), time(12))
    ]


def test_equipment_and_the_coldest_yard_day_are_kept(hands_page, site):
    sent = {"charger": "4", "maintainer": "", "exhaust_place": "1", "lift": "0", "coldest_yard_c": "-8"}
    assert hands_page("equipment", **sent).status_code == 302
    assert dict(site.equipment.values_list("kind", "count"))["charger"] == 4
    site.refresh_from_db()
    assert site.coldest_yard_c == -8
    assert hands_page("equipment", **sent | {"coldest_yard_c": "90"}).status_code == 200


def test_days_off_storms_and_ways_are_added_and_taken_out(hands_page, site, keeper, barn):
    yard = Building.objects.create(site=site, name="Yard", shelter="open")
    shed = site.buildings.get(name="Long shed")
    hands_page("holiday", **{"holiday-day": "2026-12-25", "holiday-name": "Christmas"})
    twice = hands_page("holiday", **{"holiday-day": "2026-12-25", "holiday-name": "Again"})
    assert "there already" in twice.context["forms"]["holiday"][0].errors["day"][0]
    hands_page("other", **{"other-person": keeper.pk, "other-day": "2026-12-01", "other-minutes": "2"})
    hands_page("other", **{"other-person": keeper.pk, "other-day": "2026-12-01", "other-minutes": ""})
    hands_page("storm", **{"storm-day": "2026-12-02"})
    hands_page("way", **{"way-start": shed.pk, "way-end": yard.pk, "way-minutes": "5"})
    assert OtherHours.objects.get().minutes == 0
    rows = {
        "holiday": site.holidays.get(),
        "other": OtherHours.objects.get(),
        "storm": StormDay.objects.get(),
        "way": shed.ways_out.get(),
    }
    assert "Christmas" in hands_page.client.get(hands_page.url).content.decode()
    for what, row in rows.items():
        hands_page.client.post(hands_page.url, {"remove": f"{what}-{row.pk}"})
        assert not type(row).objects.exists()


def test_a_way_leads_to_another_building_of_the_same_site(hands_page, site):
    shed = site.buildings.get()
    Building.objects.create(site=site, name="Yard", shelter="open")
    same = hands_page("way", **{"way-start": shed.pk, "way-end": shed.pk, "way-minutes": "5"})
    assert "another building" in same.context["forms"]["way"][0].errors["end"][0]


def test_nothing_of_another_site_is_taken_out_here(hands_page, other_barn):
    far = other_barn.sites.get()
    row = Holiday.objects.create(site=far, day=TODAY, name="Theirs")
    hands_page.client.post(hands_page.url, {"remove": f"holiday-{row.pk}"})
    assert Holiday.objects.filter(pk=row.pk).exists()


def test_whoever_left_works_no_more(planned, hand, car, keeper, barn):
    fresh(car, charge=SOON)
    assert planned()
    keeper.memberships.all().delete()
    assert planned() is None


def test_the_way_between_buildings_holds_either_way_round(site, barn):
    yard = Building.objects.create(site=site, name="Yard", shelter="open")
    shed = site.buildings.get(name="Long shed")
    add_way(start=shed, end=yard, minutes=5)
    add_way(start=yard, end=shed, minutes=7)
    assert [way.minutes for way in (*shed.ways_in.all(), *shed.ways_out.all())] == [7]


# the floor plan


def test_a_car_moved_from_the_floor_plan_stands_elsewhere_and_the_log_says_so(page, car, bays):
    fresh(car)
    url = reverse("log_kind", args=[car.pk, "moved"])
    assert f"{url}?next=" in page("floor_plan")
    form = page.client.get(url).context["form"]
    sent = {name: form[name].value() for name in form.fields if form[name].value() is not None}
    sent |= {"place": str(bays[2].pk), "next": reverse("floor_plan")}
    assert page.client.post(url, sent).url.startswith(reverse("floor_plan"))
    car.refresh_from_db()
    assert car.bay == bays[2]
    assert car.entries.get().details["from_bay_label"] == str(bays[0])


def test_an_owner_sees_neither_floor_plan_nor_week(client_as, owner, car):
    for name in ("floor_plan", "calendar", "week"):
        assert client_as(owner).get(reverse(name)).status_code == 403


def test_plan_now_leaves_a_true_plan_alone(planned, site, car, hand):
    fresh(car, charge=SOON)
    first = planned().computed_at
    plan_now(site=site, today=TODAY, now=NOW + timedelta(hours=1))
    assert SitePlan.objects.get().computed_at == first


def test_somebody_of_another_organisation_is_not_among_the_hands(hands_page, other_barn):
    make_person("far@tarn.example", other_barn, "staff")
    assert "Far" not in hands_page.client.get(hands_page.url).content.decode()

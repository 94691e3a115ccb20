"""Sites, buildings, bays and climates, and what the pages refuse."""

from datetime import date

import pytest
import time_machine
from django.core.exceptions import ValidationError
from django.core.management import call_command
from django.urls import reverse
from hypothesis import given
from hypothesis import strategies as st

from collection.care.actions.record import Edit
from collection.models import Battery, Bay, Building, Climate, DutyRow, Site, Vehicle
from collection.places.actions.bays import _circle
from collection.places.actions.places import save_bay, save_climate, save_site
from tests.barn import TODAY, make_car, make_climate
from tests.logbook import NOON

EDIT = Edit(None, NOON)


@pytest.fixture(autouse=True)
def _today():
    with time_machine.travel(f"{TODAY}T12:00:00Z", tick=False):
        yield


@pytest.fixture
def client(client_as, manager):
    return client_as(manager)


@pytest.fixture
def site(barn):
    return barn.sites.get()


@pytest.fixture
def shed(site):
    return site.buildings.get()


def fault(response, field=None):
    """What the page says is wrong with a field, or above the form."""
    assert response.status_code == 200
    form = response.context["form"]
    return " ".join(form.errors[field] if field else form.non_field_errors())


# sites and buildings


def test_a_site_gets_its_time_zone_and_a_generic_climate(client, barn):
    call_command("loaddata", "climates", verbosity=0)
    alpine = Climate.objects.get(name="Alpine valley")
    sent = {"name": "High barn", "time_zone": "Europe/Zurich", "climate": alpine.pk}
    assert client.post(reverse("site_new"), sent).status_code == 302
    assert barn.sites.get(name="High barn").climate == alpine


@pytest.mark.parametrize(
    ("changed", "field", "words"),
    [
        ({"time_zone": "Europe/Atlantis"}, "time_zone", "valid choice"),
        ({"time_zone": "../../etc/passwd"}, "time_zone", "valid choice"),
        ({"climate": "999999"}, "climate", "valid choice"),
        ({"name": "hollin"}, "name", "already a site called hollin"),
        ({"name": ""}, "name", "required"),
    ],
)
def test_a_bad_site_is_named_at_its_field_and_not_saved(client, site, changed, field, words):
    sent = {"name": "High barn", "time_zone": "Europe/Zurich", "climate": site.climate_id} | changed
    assert words in fault(client.post(reverse("site_new"), sent), field)
    assert Site.objects.count() == 1


def test_the_action_itself_refuses_an_unknown_time_zone(site):
    site.time_zone = "Europe/Atlantis"
    with pytest.raises(ValidationError) as refusal:
        save_site(site=site, edit=EDIT, today=TODAY)
    assert "not a time zone" in refusal.value.message_dict["time_zone"][0]


def test_a_climate_of_another_organisation_cannot_be_chosen(client, site, other_barn):
    foreign = other_barn.climates.get()
    sent = {"name": "High barn", "time_zone": "UTC", "climate": foreign.pk}
    assert "valid choice" in fault(client.post(reverse("site_new"), sent), "climate")


def test_a_heated_building_is_typed_in_the_persons_degrees_and_kept_in_celsius(client, manager, site):
    manager.units = "american"
    manager.save()
    sent = {"name": "Vault", "shelter": "heated", "walk_order": "2", "heated_to_c": "50"}
    assert client.post(reverse("building_new", args=[site.pk]), sent).status_code == 302
    vault = Building.objects.get(name="Vault")
    assert vault.heated_to_c == pytest.approx(10)
    assert 'value="50"' in client.get(reverse("building_edit", args=[vault.pk])).content.decode()


def test_moving_the_building_indoors_moves_the_dates_of_the_cars_in_it(client, shed, car):
    client.post(
        reverse("building_edit", args=[shed.pk]), {"name": "Long shed", "shelter": "open", "walk_order": "1"}
    )
    outside = dict(DutyRow.objects.filter(vehicle=car).values_list("duty", "due"))
    client.post(
        reverse("building_edit", args=[shed.pk]),
        {"name": "Long shed", "shelter": "heated", "walk_order": "1", "heated_to_c": "18"},
    )
    inside = dict(DutyRow.objects.filter(vehicle=car).values_list("duty", "due"))
    assert outside
    assert inside != outside


@pytest.mark.parametrize(
    "changed", [{"heated_to_c": "400"}, {"humidity_ceiling_pct": "101"}, {"shelter": "tent"}]
)
def test_an_absurd_building_is_refused(client, shed, changed):
    sent = {"name": "Renamed", "shelter": "enclosed", "walk_order": "1"} | changed
    assert fault(client.post(reverse("building_edit", args=[shed.pk]), sent), next(iter(changed)))
    shed.refresh_from_db()
    assert shed.name == "Long shed"


# bays


def test_a_row_of_bays_is_added_at_once_and_what_is_there_stays(client, shed):
    first = shed.bays.get(place=1)
    sent = {"row": "A", "first": "1", "last": "12", "power_outlet": "on"}
    assert client.post(reverse("bay_new", args=[shed.pk]), sent).status_code == 302
    assert [bay.place for bay in shed.bays.filter(row="A")] == list(range(1, 13))
    assert shed.bays.filter(place__gte=4, power_outlet=True).count() == 9
    assert shed.bays.get(place=1) == first


def test_nose_to_tail_each_bay_is_blocked_by_the_one_before_it(client, shed):
    sent = {"row": "C", "first": "1", "last": "3", "nose_to_tail": "on"}
    client.post(reverse("bay_new", args=[shed.pk]), sent)
    row = {bay.label: [other.label for other in bay.blocked_by.all()] for bay in shed.bays.filter(row="C")}
    assert row == {"C1": [], "C2": ["C1"], "C3": ["C2"]}


@pytest.mark.parametrize(
    ("first", "last", "field", "words"),
    [
        ("5", "2", "last", "before the first"),
        ("1", "900", "last", "more than 60"),
        ("1", "3", "last", "there already"),
        ("0", "3", "first", "greater than or equal to 1"),
        ("one", "3", "first", "whole number"),
    ],
)
def test_a_row_that_cannot_be_is_refused(client, shed, first, last, field, words):
    response = client.post(reverse("bay_new", args=[shed.pk]), {"row": "A", "first": first, "last": last})
    assert words in fault(response, field)
    assert shed.bays.count() == 3


def bay_sent(bay, *blockers):
    return {"row": bay.row, "place": bay.place, "blocked_by": [other.pk for other in blockers]}


def test_a_bay_takes_what_blocks_it(client, bays):
    assert client.post(reverse("bay_edit", args=[bays[0].pk]), bay_sent(bays[0], bays[1])).status_code == 302
    assert list(bays[0].blocked_by.all()) == [bays[1]]


def test_a_bay_that_blocks_itself_is_refused_by_page_and_action(client, bays):
    response = client.post(reverse("bay_edit", args=[bays[0].pk]), bay_sent(bays[0], bays[0]))
    assert fault(response, "blocked_by")
    with pytest.raises(ValidationError) as refusal:
        save_bay(bay=bays[0], blocked_by=[bays[0]], edit=EDIT, today=TODAY)
    assert "cannot block itself" in refusal.value.message_dict["blocked_by"][0]


def test_a_circle_of_three_blocked_bays_is_told_by_name_and_nothing_is_saved(client, bays):
    bays[0].blocked_by.add(bays[1])
    bays[1].blocked_by.add(bays[2])
    sent = bay_sent(bays[2], bays[0]) | {"power_outlet": "on"}
    message = fault(client.post(reverse("bay_edit", args=[bays[2].pk]), sent), "blocked_by")
    assert "in a circle" in message
    assert all(label in message for label in ("A1", "A2", "A3"))
    bays[2].refresh_from_db()
    assert not bays[2].power_outlet
    assert not bays[2].blocked_by.exists()


def test_a_bay_of_another_building_cannot_block(client, site, bays):
    yard = Building.objects.create(site=site, name="Yard", shelter="open")
    other = Bay.objects.create(building=yard, row="Y", place=1)
    assert fault(client.post(reverse("bay_edit", args=[bays[0].pk]), bay_sent(bays[0], other)), "blocked_by")
    with pytest.raises(ValidationError, match="another building"):
        save_bay(bay=bays[0], blocked_by=[other], edit=EDIT, today=TODAY)


@given(
    length=st.integers(2, 12), extra=st.lists(st.tuples(st.integers(20, 30), st.integers(31, 40)), max_size=8)
)
def test_a_circle_of_any_length_is_found_among_other_links_and_a_line_is_not_one(length, extra):
    line = [(n, n + 1) for n in range(1, length)]
    assert _circle([*line, *extra]) == []
    assert set(_circle([*line, (length, 1), *extra])) == set(range(1, length + 1))


def test_a_bay_of_a_label_already_painted_is_refused(client, bays):
    response = client.post(reverse("bay_edit", args=[bays[0].pk]), {"row": "A", "place": "2"})
    assert "already a bay A2" in fault(response, "place")


def test_only_what_is_empty_can_be_removed(client, bays, car, shed):
    message = client.post(
        reverse("bay_edit", args=[car.bay_id]), {"remove": "1"}, follow=True
    ).content.decode()
    assert "still in use" in message
    assert "1962 Wendlow Twelve" in message
    assert client.post(reverse("building_edit", args=[shed.pk]), {"remove": "1"}).status_code == 302
    assert client.post(reverse("bay_edit", args=[bays[2].pk]), {"remove": "1"}).status_code == 302
    assert [bay.label for bay in shed.bays.all()] == ["A1", "A2"]


# climates


def climate_sent(climate, **changed):
    sent = {"name": climate.name, "basis": "typed in"}
    for month in climate.months.all():
        sent |= {
            f"{month.month}-min_c": month.min_c,
            f"{month.month}-mean_c": month.mean_c,
            f"{month.month}-max_c": month.max_c,
            f"{month.month}-humidity_pct": month.humidity_pct,
        }
    return sent | changed


def row_faults(response):
    return {
        row.add_prefix(name): texts[0]
        for row in response.context["rows"]
        for name, texts in row.errors.items()
    }


def test_twelve_months_typed_in_are_kept_and_move_the_dates_of_the_cars_there(client, site, car):
    climate = site.climate
    url = reverse("climate_edit", args=[climate.pk])
    client.post(url, climate_sent(climate))
    before = list(DutyRow.objects.filter(vehicle=car).order_by("duty").values_list("due", flat=True))
    hot = {
        f"{n}-{name}": value
        for n in range(1, 13)
        for name, value in (("min_c", 24), ("mean_c", 28), ("max_c", 33))
    }
    assert client.post(url, climate_sent(climate, **hot)).status_code == 302
    assert climate.months.get(month=1).mean_c == 28
    assert list(DutyRow.objects.filter(vehicle=car).order_by("duty").values_list("due", flat=True)) != before


@pytest.mark.parametrize(
    ("changed", "field", "words"),
    [
        ({"1-mean_c": "9", "1-max_c": "5"}, "1-mean_c", "mean no higher than the maximum"),
        ({"7-min_c": "25"}, "7-mean_c", "minimum no higher than the mean"),
        ({"3-mean_c": ""}, "3-mean_c", "required"),
        ({"4-humidity_pct": "140"}, "4-humidity_pct", "less than or equal to 100"),
        ({"5-max_c": "99"}, "5-max_c", "give −50 to 50 °C"),
    ],
)
def test_a_month_that_cannot_be_is_named_and_no_month_is_saved(client, site, changed, field, words):
    climate = site.climate
    sent = climate_sent(climate, **{"12-humidity_pct": "50"} | changed)
    assert words in row_faults(client.post(reverse("climate_edit", args=[climate.pk]), sent))[field]
    assert climate.months.get(month=12).humidity_pct == 87


@pytest.mark.parametrize(
    "air", [(-50, -50, -50, 0), (50, 50, 50, 100), (-50, 0, 50, 50), (20, 20, 20, 0), (0, 0, 0, 100)]
)
@pytest.mark.parametrize("heated_to", ["", "40", "-20"])
def test_the_harshest_air_that_may_be_typed_still_gives_dates(client, shed, car, air, heated_to):
    Battery.objects.create(vehicle=car)
    sent = {"name": "Long shed", "shelter": "heated", "walk_order": "1", "heated_to_c": heated_to}
    client.post(reverse("building_edit", args=[shed.pk]), sent)
    names = ("min_c", "mean_c", "max_c", "humidity_pct")
    months = {f"{n}-{name}": value for n in range(1, 13) for name, value in zip(names, air, strict=True)}
    url = reverse("climate_edit", args=[shed.site.climate_id])
    assert client.post(url, climate_sent(shed.site.climate, **months)).status_code == 302
    assert DutyRow.objects.filter(vehicle=car).exists()


@pytest.mark.parametrize(("field", "value"), [("min_c", -50.1), ("max_c", 50.1)])
def test_the_action_itself_refuses_a_month_that_no_place_on_earth_has(site, field, value):
    months = list(site.climate.months.all())
    setattr(months[0], field, value)
    with pytest.raises(ValidationError) as refusal:
        save_climate(climate=site.climate, months=months, edit=EDIT, today=TODAY)
    assert "any month on earth" in refusal.value.message_dict[f"1-{field}"][0]


def test_a_generic_climate_is_copied_and_never_changed(client, barn):
    call_command("loaddata", "climates", verbosity=0)
    generic = Climate.objects.get(name="Warm dry")
    assert client.get(reverse("climate_edit", args=[generic.pk])).status_code == 404
    page = client.get(f"{reverse('climate_new')}?from={generic.pk}")
    assert [row.initial["mean_c"] for row in page.context["rows"]] == [m.mean_c for m in generic.months.all()]
    sent = climate_sent(generic, name="Our dry corner")
    assert client.post(reverse("climate_new"), sent).status_code == 302
    assert barn.climates.get(name="Our dry corner").months.count() == 12
    assert generic.months.count() == 12


def test_every_generic_climate_has_twelve_months_in_order_and_says_that_it_is_nobodys_station(db):
    call_command("loaddata", "climates", verbosity=0)
    generic = Climate.objects.filter(organisation=None)
    assert generic.count() == 6
    for climate in generic:
        assert "generic figures of our own" in climate.basis.lower()
        assert [month.month for month in climate.months.all()] == list(range(1, 13))
        for month in climate.months.all():
            month.full_clean()


# the page


def test_the_places_page_shows_who_stands_where_and_what_blocks_whom(client, car, bays):
    bays[0].blocked_by.add(bays[1])
    page = client.get(reverse("places")).content.decode()
    assert "1962 Wendlow Twelve" in page
    assert "exhaust extraction" in page
    assert "Blocked by" in page


def test_a_car_that_left_no_longer_stands_in_its_bay(client, car):
    Vehicle.objects.filter(pk=car.pk).update(left_on=date(2026, 10, 1))
    assert "1962 Wendlow Twelve" not in client.get(reverse("places")).content.decode()


def test_an_empty_installation_says_what_to_do_first(client, barn):
    Bay.objects.all().delete()
    Building.objects.all().delete()
    Site.objects.all().delete()
    assert "Record the first site" in client.get(reverse("places")).content.decode()


@pytest.mark.parametrize("number", [2, 20])
def test_the_places_page_costs_the_same_queries_however_many_there_are(
    client, barn, site, number, car, django_assert_num_queries
):
    for each in range(number):
        yard = Building.objects.create(site=site, name=f"Yard {each}", shelter="open")
        bay = Bay.objects.create(building=yard, row="Y", place=1)
        bay.blocked_by.add(Bay.objects.create(building=yard, row="Y", place=2))
        make_car(barn, car.owner, bay, model=f"No {each}")
        make_climate(barn, f"Climate {each}")
    with django_assert_num_queries(11):
        assert client.get(reverse("places")).status_code == 200

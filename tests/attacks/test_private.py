"""Keys and alarms: nobody reads them by moving a car, from a file, from the database, or unseen."""

import json
from datetime import UTC, datetime

import pytest
from django.db import connection
from django.urls import reverse

from collection.api.site import schema
from collection.host import sealing
from collection.models import CarNotes, PrivateShowing, Site, SiteNotes
from collection.people.queries.personal import about_person
from collection.places.actions.private import seal_all_anew
from tests.barn import make_climate, make_person, write_car_notes, write_site_notes

NOW = datetime(2026, 11, 25, 10, 0, tzinfo=UTC)
CAR = ("Hook 4, blue safe", "Hidden switch")
PLACE = ("Mill Lane 3", "Side gate", "Ring the guard")
PHONE = "0555 1234"


def text_of(response):
    return (b"".join(response.streaming_content) if response.streaming else response.content).decode()


def page_of(car):
    return reverse("car_private", args=[car.pk])


def asked(client, car):
    return text_of(client.post(page_of(car), {"what": "show"}))


def all_in(texts, page):
    return [text for text in texts if text not in page] == []


def none_in(texts, page):
    return [text for text in texts if text in page] == []


@pytest.fixture
def noted(car):
    """Something in every private field that belongs to the car."""
    write_car_notes(car, *CAR)
    write_site_notes(car.bay.building.site, *PLACE)
    car.owner.contact = PHONE
    car.owner.save()
    return car


@pytest.fixture
def second_site(barn):
    """Another site of the barn, with a bay."""
    site = Site.objects.create(
        organisation=barn, name="Upper yard", time_zone="UTC", climate=make_climate(barn, "Up")
    )
    building = site.buildings.create(name="Barn", shelter="enclosed", walk_order=1)
    return site, building.bays.create(row="A", place=1)


@pytest.fixture
def mover(barn, second_site):
    """Staff who may ask for keys at the other site only."""
    person = make_person("mover@hollin.example", barn, "staff")
    person.memberships.get().sites.set([second_site[0]])
    return person


# who


@pytest.mark.parametrize("who", ["manager", "keeper"])
def test_managers_and_whoever_is_granted_the_site_see_them_on_asking(client_as, request, noted, who):
    client = client_as(request.getfixturevalue(who))
    assert all_in((*CAR, *PLACE, PHONE), asked(client, noted))


@pytest.mark.parametrize("who", ["owner", "viewer", "mover"])
def test_nobody_else_sees_or_writes_them(client_as, request, noted, who):
    client = client_as(request.getfixturevalue(who))
    for what in ("show", "save", "release"):
        assert client.post(page_of(noted), {"what": what, "keys_at": "mine"}).status_code == 403
    site = reverse("site_private", args=[noted.bay.building.site_id])
    assert client.post(site, {"what": "show"}).status_code == 403
    assert not PrivateShowing.objects.exists()


def test_a_car_that_is_moved_takes_its_notes_out_of_reach_until_a_manager_releases_them(
    client_as, manager, keeper, mover, noted, second_site
):
    client = client_as(mover)
    form = client.get(reverse("log_kind", args=[noted.pk, "moved"])).context["form"]
    sent = {name: form.initial.get(name, field.initial) or "" for name, field in form.fields.items()}
    sent.pop("attachments", None)
    url, bay = reverse("log_kind", args=[noted.pk, "moved"]), second_site[1].pk
    moved = client.post(url, sent | {"place": bay})
    assert moved.status_code == 302
    noted.refresh_from_db()
    assert noted.bay == second_site[1]
    assert none_in((*CAR, PHONE), asked(client, noted))
    assert client.post(page_of(noted), {"what": "save", "keys_at": "x", "alarm": ""}).status_code == 403
    assert client.post(page_of(noted), {"what": "release"}).status_code == 403
    assert all_in(CAR, asked(client_as(keeper), noted)), "the site that wrote them still holds them"
    client_as(manager).post(page_of(noted), {"what": "release"})
    assert all_in(CAR, asked(client, noted))
    assert client_as(keeper).post(page_of(noted), {"what": "show"}).status_code == 403


def test_a_car_in_no_bay_keeps_its_notes_where_they_were(client_as, keeper, mover, noted):
    noted.bay = None
    noted.save()
    assert all_in(CAR, asked(client_as(keeper), noted))
    assert client_as(mover).post(page_of(noted), {"what": "show"}).status_code == 403


def test_a_grant_that_is_taken_back_is_gone_at_once(client_as, manager, keeper, noted):
    inside = client_as(keeper)
    url = reverse("member_edit", args=[keeper.memberships.get().pk])
    client_as(manager).post(url, {"what": "role", "role": "staff"})
    assert inside.post(page_of(noted), {"what": "show"}).status_code == 403


# on asking only, and seen


def test_no_page_that_is_only_opened_holds_them(client_as, manager, noted):
    client, secrets = client_as(manager), (*CAR, *PLACE)
    of_car = ("car", "history", "car_private", "log", "recommissioning", "shares", "proof")
    urls = [reverse(name, args=[noted.pk]) for name in of_car]
    urls += [reverse(name) for name in ("due", "cars", "week", "floor_plan", "places", "people", "labels")]
    urls += [reverse("site_private", args=[noted.bay.building.site_id]), reverse("private_showings")]
    for url in urls:
        assert none_in(secrets, text_of(client.get(url))), url


def test_each_showing_is_kept_and_managers_see_it(client_as, manager, keeper, noted):
    asked(client_as(keeper), noted)
    client_as(keeper).post(page_of(noted), {"what": "save", "keys_at": "Hook 9", "alarm": ""})
    assert [(row.what, row.person, row.vehicle) for row in PrivateShowing.objects.all()] == [
        ("written", keeper, noted),
        ("shown", keeper, noted),
    ]
    page = text_of(client_as(manager).get(reverse("private_showings")))
    assert "Keeper" in page
    assert "Written down" in page
    assert client_as(keeper).get(reverse("private_showings")).status_code == 403
    assert "Hook 9" in asked(client_as(manager), noted)


def test_a_showing_is_kept_from_caches_and_from_the_other_organisation(client_as, manager, outsider, noted):
    answer = client_as(manager).post(page_of(noted), {"what": "show"})
    assert "no-store" in answer["Cache-Control"]
    assert client_as(outsider).post(page_of(noted), {"what": "show"}).status_code == 404
    assert "Wendlow" not in text_of(client_as(outsider).get(reverse("private_showings")))


def test_a_site_is_shown_and_written_by_its_managers(client_as, manager, keeper, noted):
    site = noted.bay.building.site
    url = reverse("site_private", args=[site.pk])
    assert all_in(PLACE, text_of(client_as(keeper).post(url, {"what": "show"})))
    assert client_as(keeper).post(url, {"what": "save", "address": "x"}).status_code == 403
    client_as(manager).post(url, {"what": "save", "address": "Mill Lane 4"})
    assert "Mill Lane 4" in text_of(client_as(manager).post(url, {"what": "show"}))


# in no file


def test_they_are_in_no_file(client_as, manager, keeper, noted):
    client, secrets = client_as(manager), (*CAR, *PLACE)
    asked(client_as(keeper), noted)
    lists = ("floor_plan_as", "cars_as", "places_as", "members_as", "owners_as", "whole_log_as", "due_as")
    urls = [reverse(name, args=["json"]) for name in lists]
    urls += [reverse("everything_as", args=["json"]) + more for more in ("", "?private=1")]
    urls += [reverse("proof", args=[noted.pk]) + "?as=file", reverse("my_data")]
    for url in urls:
        assert none_in(secrets, text_of(client.get(url))), url
    assert none_in(secrets, json.dumps(about_person(keeper), default=str))
    assert "sealed" not in json.dumps(about_person(keeper), default=str)


def test_no_operation_for_programmes_gives_them():
    described = json.dumps(schema())
    for word in ("keys_at", "way_in", "read:private"):
        assert word not in described


# at rest


def everything_stored():
    """Every value of every table, as it lies in the database."""
    with connection.cursor() as cursor:
        for table in connection.introspection.table_names(cursor):
            cursor.execute(f"SELECT * FROM {connection.ops.quote_name(table)}")  # noqa: S608 - our own names
            yield from map(str, cursor.fetchall())


def test_the_database_holds_them_sealed_only(client_as, manager, noted):
    client_as(manager).post(page_of(noted), {"what": "save", "keys_at": CAR[0], "alarm": CAR[1]})
    assert none_in((*CAR, *PLACE), "\n".join(everything_stored()))


def test_a_sealed_note_opens_in_no_other_row(client_as, manager, noted, neighbour_car):
    write_car_notes(neighbour_car, "Hook 5")
    CarNotes.objects.filter(vehicle=neighbour_car).update(sealed=CarNotes.objects.get(vehicle=noted).sealed)
    page = asked(client_as(manager), neighbour_car)
    assert none_in(CAR, page)
    assert "LONGSTAND_OLD_SECRET_KEYS" in page


def test_another_secret_opens_them_only_with_the_old_one_named_and_seals_anew(
    client_as, manager, noted, monkeypatch, settings
):
    (before, *_), client = sealing.secrets(), client_as(manager)
    monkeypatch.setenv("LONGSTAND_SECRET_KEY", "another secret, long enough to be one")
    assert "LONGSTAND_OLD_SECRET_KEYS" in asked(client, noted)
    assert seal_all_anew() == 2, "what does not open is left as it is"
    settings.SECRET_KEY_FALLBACKS = [before]
    assert all_in(CAR, asked(client, noted))
    assert seal_all_anew() == 0
    settings.SECRET_KEY_FALLBACKS = []
    assert all_in((*CAR, *PLACE), asked(client, noted))


def test_nothing_written_down_leaves_no_row(client_as, manager, noted):
    client_as(manager).post(page_of(noted), {"what": "save", "keys_at": "", "alarm": ""})
    assert not CarNotes.objects.exists()
    assert SiteNotes.objects.count() == 1

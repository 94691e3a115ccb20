"""Keys, alarms and addresses; what is kept about a person; forgetting."""

import json
from datetime import UTC, date, datetime

import pytest
from allauth.account.models import EmailAddress
from allauth.mfa.models import Authenticator
from allauth.usersessions.models import UserSession
from django.core.exceptions import ValidationError
from django.db import models
from django.test import Client
from django.urls import reverse

from collection.care.actions.care import log_entry
from collection.chain.canonical import read
from collection.chain.verify import verify
from collection.models import CarNotes, Membership, Owner, Person, SiteNotes
from collection.people.actions.forgetting import forget_owner, forget_person
from collection.people.actions.people import change_member
from collection.proof.actions import export_history, sign_statement
from tests.barn import make_person

NOW = datetime(2026, 11, 25, 10, 0, tzinfo=UTC)
TODAY = date(2026, 11, 25)
SECRETS = ("Hook 4, blue safe", "Hidden switch", "Mill Lane 3", "Side gate", "Ring the guard", "0555 1234")


def said(response):
    return response.content.decode()


@pytest.fixture
def secrets(car, barn):
    """Something in every private field that belongs to the car."""
    CarNotes.objects.create(vehicle=car, keys_at=SECRETS[0], alarm=SECRETS[1])
    SiteNotes.objects.create(site=barn.sites.get(), address=SECRETS[2], way_in=SECRETS[3], alarm=SECRETS[4])
    car.owner.contact = SECRETS[5]
    car.owner.save()
    return SECRETS


# keys, alarms, addresses


@pytest.mark.parametrize("who", ["manager", "keeper"])
def test_managers_and_the_staff_of_the_site_read_keys_alarms_and_addresses(
    client_as, request, secrets, car, who
):
    page = said(client_as(request.getfixturevalue(who)).get(reverse("car", args=[car.pk])))
    assert [secret for secret in secrets if secret not in page] == []


EVERY_PAGE = ("due", "cars", "car", "history", "why", "week", "whatif", "places", "people")


def pages_of(client, car):
    for name in EVERY_PAGE:
        args = {"car": [car.pk], "history": [car.pk], "why": [car.pk, "charge"], "whatif": []}.get(name, [])
        yield said(client.get(reverse(name, args=args)))


@pytest.mark.parametrize("who", ["owner", "viewer", "elsewhere"])
def test_nobody_else_reads_them_on_any_page(client_as, request, secrets, car, barn, who):
    if who == "elsewhere":
        person = make_person("elsewhere@hollin.example", barn, "staff")  # staff, assigned to no site
    else:
        person = request.getfixturevalue(who)
    for page in pages_of(client_as(person), car):
        assert [secret for secret in secrets if secret in page] == []


def test_no_history_shows_them_even_to_a_manager(client_as, manager, secrets, car):
    page = said(client_as(manager).get(reverse("history", args=[car.pk])))
    assert [secret for secret in secrets if secret in page] == []


def test_a_car_in_no_bay_has_keys_for_managers_only(client_as, manager, keeper, secrets, car):
    car.bay = None
    car.save()
    assert secrets[0] in said(client_as(manager).get(reverse("car", args=[car.pk])))
    assert secrets[0] not in said(client_as(keeper).get(reverse("car", args=[car.pk])))


def test_staff_of_another_site_do_not_write_them_either(client_as, barn, car, secrets):
    person = make_person("elsewhere@hollin.example", barn, "staff")
    url = reverse("car_private", args=[car.pk])
    assert client_as(person).get(url).status_code == 403
    assert client_as(person).post(url, {"keys_at": "mine"}).status_code == 403
    assert CarNotes.objects.get().keys_at == secrets[0]


def test_keys_and_addresses_are_written_down(client_as, manager, keeper, car, barn):
    site = barn.sites.get()
    client_as(keeper).post(reverse("car_private", args=[car.pk]), {"keys_at": "Hook 9", "alarm": ""})
    client_as(manager).post(reverse("site_private", args=[site.pk]), {"address": "Mill Lane 3"})
    page = said(client_as(keeper).get(reverse("car", args=[car.pk])))
    assert "Hook 9" in page
    assert "Mill Lane 3" in page


def test_a_manager_assigns_staff_to_sites_and_takes_them_off(client_as, manager, keeper, car, secrets, barn):
    url = reverse("member_edit", args=[keeper.memberships.get().pk])
    sent = {"what": "role", "role": "staff", "is_active": "on"}
    client_as(manager).post(url, sent)
    assert secrets[0] not in said(client_as(keeper).get(reverse("car", args=[car.pk])))
    client_as(manager).post(url, sent | {"sites": [barn.sites.get().pk]})
    assert secrets[0] in said(client_as(keeper).get(reverse("car", args=[car.pk])))


def test_a_role_that_is_not_staff_is_assigned_nowhere(manager, keeper, barn):
    membership = keeper.memberships.get()
    change_member(membership=membership, role="viewer", may_sign_in=True, sites=barn.sites.all())
    assert not membership.sites.exists()


def test_nobody_is_assigned_to_a_site_of_another_organisation(manager, keeper, other_barn):
    with pytest.raises(ValidationError, match="not in your organisation"):
        change_member(
            membership=keeper.memberships.get(), role="staff", may_sign_in=True, sites=other_barn.sites.all()
        )


def test_a_viewer_sees_every_car_and_changes_nothing(client_as, viewer, car, neighbour_car):
    client = client_as(viewer)
    assert len(client.get(reverse("cars")).context["cars"]) == 2
    page = said(client.get(reverse("car", args=[car.pk])))
    for name in ("log", "car_private"):
        assert reverse(name, args=[car.pk]) not in page
    assert client.post(reverse("log_kind", args=[car.pk, "note"]), {"note": "x"}).status_code == 403


# what is kept about a person


@pytest.fixture
def wrote(car, keeper):
    return log_entry(
        vehicle=car,
        kind="note",
        done_at=NOW,
        by=keeper,
        idempotency_key="w",
        now=NOW,
        note="Smells of petrol.",
    ).entry


def test_a_person_takes_away_everything_about_themselves(client, keeper, wrote):
    client.post(reverse("sign_in"), {"login": keeper.email, "password": "long-enough-pass"})
    answer = client.get(reverse("my_data"))
    facts = json.loads(answer.content)
    assert "attachment" in answer["Content-Disposition"]
    assert answer["Cache-Control"] == "no-store"
    assert facts["person"]["e-mail address"] == keeper.email
    assert facts["entries"][0]["note"] == "Smells of petrol."
    assert facts["memberships"][0]["role"] == "staff"
    assert len(facts["user sessions"]) == 1
    keeper.refresh_from_db()
    for hidden in (keeper.password, client.session.session_key):
        assert hidden not in answer.content.decode()


def test_no_secret_of_a_second_factor_is_in_the_file(client_as, keeper):
    Authenticator.objects.create(user=keeper, type="totp", data={"secret": "hush"})
    assert "hush" not in said(client_as(keeper).get(reverse("my_data")))


def test_the_file_holds_nobody_else(client_as, keeper, manager, viewer, wrote):
    page = said(client_as(viewer).get(reverse("my_data")))
    for other in (keeper, manager):
        assert other.email not in page
    assert "petrol" not in page


def test_a_manager_gets_the_file_of_a_member_of_this_organisation_only(
    client_as, manager, keeper, outsider, other_barn
):
    url = reverse("member_data", args=[keeper.memberships.get().pk])
    assert client_as(manager).get(url).status_code == 200
    assert client_as(outsider).get(url).status_code == 404
    Membership.objects.create(person=keeper, organisation=other_barn, role="staff")
    assert client_as(manager).get(url).status_code == 403


def test_an_owner_who_never_signs_in_gets_a_file_too(client_as, manager, neighbour_car):
    facts = json.loads(client_as(manager).get(reverse("owner_data", args=[neighbour_car.owner_id])).content)
    assert facts["owner"]["name"] == "Bram Toller"
    assert facts["cars"][0]["model"] == "Sixteen"


# forgetting


def test_every_table_that_names_a_person_says_what_becomes_of_it():
    """A new table that PROTECTs a person keeps them in it for ever: think, then add it here."""
    kept = {
        f"{relation.related_model.__name__}.{relation.field.name}"
        for relation in Person._meta.related_objects
        if relation.on_delete not in (models.CASCADE, models.SET_NULL)
    }
    # who found what on a car is part of its record, as who wrote the log is
    assert kept == {"Entry.by", "Evidence.by", "Pseudonym.person"}


def test_whoever_is_forgotten_is_nowhere_and_the_chain_still_verifies(car, keeper, wrote, barn):
    name, address = keeper.name, keeper.email
    statement = sign_statement(organisation=barn, now=NOW)
    before = export_history(car, now=NOW)
    Authenticator.objects.create(user=keeper, type="totp", data={"secret": "hush"})
    UserSession.objects.create(user=keeper, ip="127.0.0.1", session_key="k", user_agent="Phone")
    EmailAddress.objects.create(user=keeper, email=address)
    forget_person(person=keeper, today=TODAY)
    after = export_history(car, now=NOW)
    assert verify(after).faults == []
    assert verify(after, witnesses=[before]).faults == []
    assert read(after)["anchors"][0]["statement"] == statement.statement
    for word in (name, address):
        assert word not in after.decode()
        assert word not in str(Person.objects.values_list())
    assert not keeper.memberships.exists()
    for model in (Authenticator, UserSession, EmailAddress):
        assert not model.objects.exists()
    token = read(after)["entries"][0]["by"]
    assert read(after)["people"][token] == f"Somebody forgotten ({token[:8]})"


def test_whoever_is_forgotten_is_out_at_once_and_cannot_come_back(client_as, manager, keeper, wrote):
    inside, address = client_as(keeper), keeper.email
    url = reverse("member_forget", args=[keeper.memberships.get().pk])
    assert client_as(manager).post(url, {"words": address}).status_code == 302
    assert inside.get(reverse("cars")).status_code == 302
    answer = Client().post(reverse("sign_in"), {"login": address, "password": "long-enough-pass"})
    assert "do not belong together" in said(answer)


def test_the_history_says_that_somebody_forgotten_did_it(client_as, manager, keeper, car, wrote):
    forget_person(person=keeper, today=TODAY)
    page = said(client_as(manager).get(reverse("history", args=[car.pk])))
    assert "Smells of petrol." in page
    assert "Somebody forgotten (" in page


def test_forgetting_asks_for_the_address_to_be_typed(client_as, manager, keeper):
    url = reverse("member_forget", args=[keeper.memberships.get().pk])
    answer = client_as(manager).post(url, {"words": "yes"})
    assert "leave this page" in answer.context["form"].errors["words"][0]
    keeper.refresh_from_db()
    assert keeper.forgotten_on is None


def test_the_last_manager_is_not_forgotten(client_as, manager):
    url = reverse("member_forget", args=[manager.memberships.get().pk])
    assert "last manager" in said(client_as(manager).post(url, {"words": manager.email}))
    manager.refresh_from_db()
    assert manager.is_active


def test_a_member_of_two_organisations_is_not_forgotten_by_one(client_as, manager, keeper, other_barn):
    url = reverse("member_forget", args=[keeper.memberships.first().pk])
    Membership.objects.create(person=keeper, organisation=other_barn, role="staff")
    assert "another organisation" in said(client_as(manager).post(url, {"words": keeper.email}))
    keeper.refresh_from_db()
    assert keeper.forgotten_on is None


def test_a_member_who_owns_cars_is_forgotten_as_their_owner_too(client_as, manager, owner, car):
    url = reverse("member_forget", args=[owner.memberships.get().pk])
    client_as(manager).post(url, {"words": owner.email})
    car.owner.refresh_from_db()
    assert car.owner.name == f"Owner forgotten ({car.owner_id})"
    assert car.owner.person is None


def test_a_forgotten_owner_leaves_the_cars_and_takes_name_and_address(neighbour_car):
    owner = neighbour_car.owner
    owner.contact, owner.address = "0555", "Mill Lane"
    owner.save()
    forget_owner(owner=owner)
    kept = Owner.objects.get(pk=owner.pk)
    assert (kept.contact, kept.address, kept.vehicles.count()) == ("", "", 1)
    assert "Bram" not in kept.name


def test_two_people_who_never_wrote_are_both_forgotten(keeper, viewer):
    for person in (keeper, viewer):
        forget_person(person=person, today=TODAY)
    assert Person.objects.filter(forgotten_on=TODAY).count() == 2

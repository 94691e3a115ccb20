"""What is kept about a person; forgetting."""

import json
from datetime import UTC, date, datetime

import pytest
from allauth.account.models import EmailAddress
from allauth.mfa.models import Authenticator
from allauth.usersessions.models import UserSession
from django.db import models
from django.test import Client
from django.urls import reverse

from collection.care.actions.care import log_entry
from collection.chain.canonical import read
from collection.chain.verify import verify
from collection.models import Membership, Owner, Person
from collection.people.actions.forgetting import forget_owner, forget_person
from collection.proof.actions import export_history, sign_statement

NOW = datetime(2026, 11, 25, 10, 0, tzinfo=UTC)
TODAY = date(2026, 11, 25)


def text_of(response):
    return response.content.decode()


def test_a_viewer_sees_every_car_and_changes_nothing(client_as, viewer, car, neighbour_car):
    client = client_as(viewer)
    assert len(client.get(reverse("cars")).context["cars"]) == 2
    page = text_of(client.get(reverse("car", args=[car.pk])))
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
    assert "hush" not in text_of(client_as(keeper).get(reverse("my_data")))


def test_the_file_holds_nobody_else(client_as, keeper, manager, viewer, wrote):
    page = text_of(client_as(viewer).get(reverse("my_data")))
    for other in (keeper, manager):
        assert other.email not in page
    assert "petrol" not in page


def test_a_manager_gets_what_this_organisation_keeps_of_a_member_and_nothing_else(
    client, client_as, manager, keeper, outsider, other_barn, foreign_car, wrote
):
    url = reverse("member_data", args=[keeper.memberships.get().pk])
    Membership.objects.create(person=keeper, organisation=other_barn, role="viewer")
    elsewhere = {"kind": "note", "done_at": NOW, "by": keeper, "now": NOW, "note": "Elsewhere."}
    log_entry(vehicle=foreign_car, idempotency_key="e", **elsewhere)
    client.post(reverse("sign_in"), {"login": keeper.email, "password": "long-enough-pass"})
    answer = client_as(manager).get(url)
    facts = json.loads(answer.content)
    assert [row["note"] for row in facts["entries"]] == ["Smells of petrol."]
    assert [row["role"] for row in facts["memberships"]] == ["staff"]
    assert not {"user sessions", "sign-ins"} & set(facts)
    assert "Tarn" not in text_of(answer)
    assert client_as(outsider).get(url).status_code == 404


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
    # who found what on a car, wrote its record or set a limit is part of it, as who wrote the log is
    assert kept == {"Entry.by", "Evidence.by", "Pseudonym.person", "RecordEntry.by", "SettingEntry.by"}


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
    assert read(after)["people"][token] == f"Deleted person ({token[:8]})"


@pytest.fixture
def forgets(client, operator):
    """Sends the page on which an operator forgets somebody."""
    client.post(reverse("sign_in"), {"login": operator.email, "password": "long-enough-pass"})
    client.post(reverse("account_reauthenticate"), {"password": "long-enough-pass"})
    return lambda person, words: client.post(reverse("person_forget", args=[person.pk]), {"words": words})


def test_whoever_is_forgotten_is_out_at_once_and_cannot_come_back(client_as, forgets, keeper, wrote):
    inside, address = client_as(keeper), keeper.email
    assert forgets(keeper, address).status_code == 302
    assert inside.get(reverse("cars")).status_code == 302
    answer = Client().post(reverse("sign_in"), {"login": address, "password": "long-enough-pass"})
    assert "do not belong together" in text_of(answer)


def test_the_history_says_that_somebody_forgotten_did_it(client_as, manager, keeper, car, wrote):
    forget_person(person=keeper, today=TODAY)
    page = text_of(client_as(manager).get(reverse("history", args=[car.pk])))
    assert "Smells of petrol." in page
    assert "Deleted person (" in page


def test_forgetting_asks_for_the_address_to_be_typed(forgets, keeper):
    assert "leave this page" in forgets(keeper, "yes").context["form"].errors["words"][0]
    keeper.refresh_from_db()
    assert keeper.forgotten_on is None


def test_neither_the_last_manager_nor_the_last_operator_is_forgotten(forgets, manager, operator):
    for person, words in ((manager, "last manager"), (operator, "last operator")):
        assert words in text_of(forgets(person, person.email))
        person.refresh_from_db()
        assert person.is_active


def test_a_member_who_owns_cars_is_forgotten_as_their_owner_too(forgets, owner, car):
    forgets(owner, owner.email)
    car.owner.refresh_from_db()
    assert car.owner.name == f"Deleted owner ({car.owner_id})"
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

"""Members, owners, one's own page, signing in."""

import pytest
from django.core import mail
from django.urls import reverse

from collection.models import Membership, Owner, Person
from tests.barn import make_person

PASSWORD = "cold-hands-warm-engine"


def role_page(person, organisation=None):
    memberships = person.memberships
    membership = memberships.get(organisation=organisation) if organisation else memberships.get()
    return reverse("member_edit", args=[membership.pk])


def new_member(**changed):
    return {
        "name": "Wim Ostler",
        "email": "Wim@Hollin.example",
        "role": "staff",
        "password": PASSWORD,
        "again": PASSWORD,
    } | changed


def said(response):
    return response.content.decode()


# members


def test_a_manager_adds_a_member_who_can_then_sign_in(client_as, manager, client):
    assert client_as(manager).post(reverse("member_new"), new_member()).status_code == 302
    response = client.post(reverse("sign_in"), {"login": "WIM@hollin.example", "password": PASSWORD})
    assert response.url == reverse("due")
    assert not mail.outbox


@pytest.mark.parametrize(
    ("changed", "field", "words"),
    [
        ({"again": "something-else"}, "again", "differ"),
        ({"password": "short", "again": "short"}, "password", "at least 8 characters"),
        ({"password": "12345678", "again": "12345678"}, "password", "too common"),
        ({"email": "not an address"}, "email", "valid email"),
        ({"email": "keeper@hollin.example"}, "email", "member already"),
        ({"role": "emperor"}, "role", "valid choice"),
        ({"name": ""}, "name", "required"),
    ],
)
def test_a_bad_new_member_is_named_at_the_field_and_not_saved(
    client_as, manager, keeper, changed, field, words
):
    response = client_as(manager).post(reverse("member_new"), new_member(**changed))
    assert words in " ".join(response.context["form"].errors[field])
    assert Person.objects.count() == 2


def test_somebody_with_a_sign_in_joins_and_keeps_their_password(client_as, manager, barn, outsider):
    sent = new_member(email=outsider.email, name="Imposter")
    assert client_as(manager).post(reverse("member_new"), sent).status_code == 302
    outsider.refresh_from_db()
    assert outsider.check_password("long-enough-pass")
    assert outsider.name != "Imposter"
    assert outsider.memberships.get(organisation=barn).role == "staff"


def test_a_role_is_changed(client_as, manager, keeper):
    client_as(manager).post(role_page(keeper), {"what": "role", "role": "owner", "is_active": "on"})
    assert keeper.memberships.get().role == "owner"


def test_a_closed_sign_in_is_closed_at_once(client_as, manager, keeper):
    working = client_as(keeper)
    assert working.get(reverse("cars")).status_code == 200
    client_as(manager).post(role_page(keeper), {"what": "role", "role": "staff"})
    assert working.get(reverse("cars")).status_code == 302


@pytest.mark.parametrize(
    "sent",
    [
        {"what": "role", "role": "staff", "is_active": "on"},
        {"what": "role", "role": "manager"},
        {"what": "remove"},
    ],
)
def test_the_last_manager_cannot_be_taken_away(client_as, manager, keeper, sent):
    assert "last manager" in said(client_as(manager).post(role_page(manager), sent))
    manager.refresh_from_db()
    assert manager.is_active
    assert manager.memberships.get().role == "manager"


def test_a_manager_whose_sign_in_is_closed_does_not_count_as_the_other_manager(client_as, manager, barn):
    make_person("old@hollin.example", barn, "manager", is_active=False)
    sent = {"what": "role", "role": "staff", "is_active": "on"}
    assert "last manager" in said(client_as(manager).post(role_page(manager), sent))


def test_with_another_manager_one_may_go(client_as, manager, barn):
    second = make_person("second@hollin.example", barn, "manager")
    assert client_as(second).post(role_page(manager), {"what": "remove"}).status_code == 302
    assert not manager.memberships.exists()
    assert Person.objects.filter(pk=manager.pk).exists()


def test_a_forgotten_password_is_replaced(client_as, manager, keeper):
    sent = {"what": "password", "password": PASSWORD, "again": PASSWORD}
    assert client_as(manager).post(role_page(keeper), sent).status_code == 302
    keeper.refresh_from_db()
    assert keeper.check_password(PASSWORD)


@pytest.mark.parametrize(
    "sent",
    [{"what": "password", "password": PASSWORD, "again": PASSWORD}, {"what": "role", "role": "staff"}],
)
def test_a_manager_rules_over_no_sign_in_that_is_used_elsewhere(client_as, manager, barn, outsider, sent):
    Membership.objects.create(person=outsider, organisation=barn, role="staff")
    assert "another organisation" in said(client_as(manager).post(role_page(outsider, barn), sent))
    outsider.refresh_from_db()
    assert outsider.is_active
    assert outsider.check_password("long-enough-pass")


def test_a_manager_sets_no_password_of_whoever_runs_the_installation(client_as, manager, barn):
    root = make_person("root@hollin.example", barn, "staff", is_superuser=True)
    sent = {"what": "password", "password": PASSWORD, "again": PASSWORD}
    assert "runs the installation" in said(client_as(manager).post(role_page(root), sent))
    root.refresh_from_db()
    assert not root.check_password(PASSWORD)


# owners


def test_an_owner_linked_to_a_sign_in_sees_their_cars(client_as, manager, barn, neighbour_car):
    person = make_person("bram@hollin.example", barn, "owner")
    url = reverse("owner_edit", args=[neighbour_car.owner_id])
    assert client_as(manager).post(url, {"name": "Bram Toller", "person": person.pk}).status_code == 302
    assert [str(car) for car in client_as(person).get(reverse("cars")).context["cars"]] == [
        "1971 Wendlow Sixteen"
    ]


def test_an_owner_is_not_linked_to_somebody_who_is_no_member(client_as, manager, stranger):
    sent = {"name": "Nobody", "person": stranger.pk}
    response = client_as(manager).post(reverse("owner_new"), sent)
    assert response.context["form"].errors["person"]
    assert not Owner.objects.exists()


def test_two_owners_of_one_name_are_refused(client_as, manager, car):
    response = client_as(manager).post(reverse("owner_new"), {"name": "ada wren"})
    assert "already an owner" in response.context["form"].errors["name"][0]


def test_owners_without_cars_and_people_without_names_are_shown(client_as, manager, barn, car):
    Owner.objects.create(organisation=barn, name="Dee Lorne")
    page = said(client_as(manager).get(reverse("people")))
    assert "Dee Lorne" in page
    assert f"?owner={car.owner_id}" in page


@pytest.mark.parametrize("number", [2, 20])
def test_the_people_page_costs_the_same_queries_however_many_there_are(
    client_as, manager, barn, number, django_assert_num_queries
):
    for each in range(number):
        person = make_person(f"p{each}@hollin.example", barn, "owner")
        Owner.objects.create(organisation=barn, name=f"Owner {each}", person=person)
    client = client_as(manager)
    with django_assert_num_queries(6):
        client.get(reverse("people"))


# oneself


def test_a_person_chooses_their_units(client_as, keeper):
    client_as(keeper).post(reverse("me"), {"what": "name", "name": "Kit", "units": "american"})
    keeper.refresh_from_db()
    assert (keeper.name, keeper.units) == ("Kit", "american")


def test_a_person_changes_their_password_and_stays_signed_in(client_as, keeper):
    client = client_as(keeper)
    sent = {"what": "password", "old": "long-enough-pass", "password": PASSWORD, "again": PASSWORD}
    assert client.post(reverse("me"), sent).status_code == 302
    assert client.get(reverse("me")).status_code == 200
    keeper.refresh_from_db()
    assert keeper.check_password(PASSWORD)


@pytest.mark.parametrize(
    ("changed", "field"),
    [
        ({"old": "wrong-pass"}, "old"),
        ({"again": "unlike"}, "again"),
        ({"password": "x", "again": "x"}, "password"),
    ],
)
def test_a_bad_change_of_password_changes_nothing(client_as, keeper, changed, field):
    sent = {"what": "password", "old": "long-enough-pass", "password": PASSWORD, "again": PASSWORD} | changed
    assert client_as(keeper).post(reverse("me"), sent).context["password"].errors[field]
    keeper.refresh_from_db()
    assert keeper.check_password("long-enough-pass")


def test_a_member_of_two_organisations_goes_from_one_to_the_other(
    client_as, manager, other_barn, car, foreign_car
):
    Membership.objects.create(person=manager, organisation=other_barn, role="staff")
    client = client_as(manager)
    assert [str(it) for it in client.get(reverse("cars")).context["cars"]] == ["1962 Wendlow Twelve"]
    client.post(reverse("me"), {"what": "organisation", "organisation": other_barn.pk})
    assert [str(it) for it in client.get(reverse("cars")).context["cars"]] == ["1955 Wendlow Nine"]
    assert client.get(reverse("people")).status_code == 403


def test_nobody_goes_where_they_are_no_member(client_as, manager, other_barn, car):
    client = client_as(manager)
    sent = {"what": "organisation", "organisation": other_barn.pk}
    assert client.post(reverse("me"), sent).context["where"].errors["organisation"]
    assert [str(it) for it in client.get(reverse("cars")).context["cars"]] == ["1962 Wendlow Twelve"]


# signing in


def test_a_wrong_pair_gets_a_kind_word_that_does_not_tell_which_half_was_wrong(client, keeper):
    for username in (keeper.email, "nobody@else.example"):
        response = client.post(reverse("sign_in"), {"login": username, "password": "wrong"})
        assert "do not belong together" in said(response)


def test_a_sign_in_for_nobody_is_told_what_to_do(client_as, stranger):
    response = client_as(stranger).get(reverse("cars"))
    assert response.status_code == 403
    assert "ask a manager to add you" in said(response)
    assert "Sign out" in said(response)


def test_the_page_asked_for_comes_after_signing_in(client, keeper):
    sent = {"login": keeper.email, "password": "long-enough-pass", "next": "/cars/"}
    assert client.post(f"{reverse('sign_in')}?next=/cars/", sent).url == "/cars/"
    client.logout()
    sent["next"] = "https://elsewhere.example/"
    assert client.post(reverse("sign_in"), sent).url == reverse("due")

"""Members, owners, one's own page, signing in."""

import re
from datetime import UTC, datetime, timedelta

import pytest
from django.core import mail
from django.test import Client, override_settings
from django.urls import reverse

from collection.api.actions.tokens import make_token
from collection.history.actions import make_share
from collection.models import ApiToken, Invitation, Membership, Owner, Person
from tests.barn import make_person

NOW = datetime.now(UTC)
PASSWORD = "cold-hands-warm-engine"


def role_page(person, organisation=None):
    memberships = person.memberships
    membership = memberships.get(organisation=organisation) if organisation else memberships.get()
    return reverse("member_edit", args=[membership.pk])


def text_of(response):
    return response.content.decode()


def invited(client, **changed):
    """Invite Wim where no mail is sent; the path of the link that is shown."""
    sent = {"email": "Wim@Hollin.example", "role": "staff"} | changed
    link = client.post(reverse("member_new"), sent).context["link"]
    return link.removeprefix("http://testserver")


NEW = {"name": "Wim Ostler", "password": PASSWORD, "again": PASSWORD}


# members


def test_whoever_is_invited_joins_by_the_link_and_signs_in(client_as, manager, barn, client):
    link = invited(client_as(manager), sites=[barn.sites.get().pk])
    assert "Hollin Barn" in text_of(client.get(link))
    assert client.post(link, NEW).url == reverse("sign_in")
    response = client.post(reverse("sign_in"), {"login": "WIM@hollin.example", "password": PASSWORD})
    assert response.url == reverse("collection")
    member = Membership.objects.get(person__email="wim@hollin.example")
    assert (member.person.name, member.role) == ("Wim Ostler", "staff")
    assert member.key_grants.get().given_by == manager
    assert not mail.outbox


def test_where_mail_is_sent_the_link_goes_by_mail_only(client_as, manager, client):
    with override_settings(SENDS_MAIL=True):
        answer = client_as(manager).post(reverse("member_new"), {"email": "wim@a.example", "role": "viewer"})
    assert answer.url == reverse("people")
    (message,) = mail.outbox
    assert message.to == ["wim@a.example"]
    link = re.search(r"http://testserver(\S+)", message.body)[1]
    assert link not in text_of(client_as(manager).get(reverse("people")))
    assert client.post(link, NEW).status_code == 302


def test_an_invitation_that_cannot_be_mailed_is_none(client_as, manager):
    broken = {"EMAIL_BACKEND": "django.core.mail.backends.smtp.EmailBackend", "EMAIL_HOST": "127.0.0.1"}
    with override_settings(SENDS_MAIL=True, EMAIL_PORT=1, **broken):
        answer = client_as(manager).post(reverse("member_new"), {"email": "wim@a.example", "role": "viewer"})
    assert "could not be sent" in text_of(answer)
    assert not Invitation.objects.filter(ended_at__isnull=True).exists()


@pytest.mark.parametrize(
    ("changed", "field", "words"),
    [
        ({"email": "not an address"}, "email", "valid email"),
        ({"email": "Keeper@hollin.example"}, "email", "member already"),
        ({"role": "emperor"}, "role", "valid choice"),
    ],
)
def test_a_bad_invitation_is_named_at_the_field_and_not_made(
    client_as, manager, keeper, changed, field, words
):
    sent = {"email": "wim@hollin.example", "role": "staff"} | changed
    response = client_as(manager).post(reverse("member_new"), sent)
    assert words in " ".join(response.context["form"].errors[field])
    assert not Invitation.objects.exists()


@pytest.mark.parametrize(
    ("changed", "field", "words"),
    [
        ({"again": "something-else"}, "again", "differ"),
        ({"password": "short", "again": "short"}, "password", "at least 8 characters"),
        ({"password": "12345678", "again": "12345678"}, "password", "too common"),
        ({"name": ""}, "name", "required"),
    ],
)
def test_a_bad_new_sign_in_uses_no_invitation_up(client_as, manager, client, changed, field, words):
    link = invited(client_as(manager))
    response = client.post(link, NEW | changed)
    assert words in " ".join(response.context["form"].errors[field])
    assert client.post(link, NEW).status_code == 302


def test_somebody_with_a_sign_in_joins_with_it_and_is_there(client_as, manager, barn, outsider):
    link = invited(client_as(manager), email=outsider.email)
    client = client_as(outsider)
    assert client.post(link).url == reverse("home")
    outsider.refresh_from_db()
    assert outsider.check_password("long-enough-pass")
    assert outsider.memberships.get(organisation=barn).role == "staff"
    assert "Hollin Barn" in text_of(client.get(reverse("me")))


def test_an_invitation_is_listed_and_withdrawn(client_as, manager, client):
    link, mine = invited(client_as(manager)), client_as(manager)
    assert "wim@hollin.example" in text_of(mine.get(reverse("people")))
    mine.post(reverse("invitation_end", args=[Invitation.objects.get().pk]))
    mine.get(reverse("people"))  # which says so once
    assert "wim@hollin.example" not in text_of(mine.get(reverse("people")))
    assert client.get(link).status_code == 404


def test_a_second_invitation_takes_the_place_of_the_first(client_as, manager, client):
    first, second = invited(client_as(manager)), invited(client_as(manager))
    assert client.get(first).status_code == 404
    assert client.get(second).status_code == 200


def test_a_role_is_changed_and_grants_of_keys_follow(client_as, manager, keeper, barn):
    site = barn.sites.get()
    client_as(manager).post(role_page(keeper), {"what": "role", "role": "staff"})
    assert not keeper.memberships.get().key_grants.exists()
    client_as(manager).post(role_page(keeper), {"what": "role", "role": "staff", "sites": [site.pk]})
    assert keeper.memberships.get().key_grants.get().given_by == manager
    client_as(manager).post(role_page(keeper), {"what": "role", "role": "owner", "sites": [site.pk]})
    assert keeper.memberships.get().role == "owner"
    assert not keeper.memberships.get().key_grants.exists()


@pytest.mark.parametrize("sent", [{"what": "role", "role": "staff"}, {"what": "remove"}])
def test_the_last_manager_cannot_be_taken_away(client_as, manager, keeper, sent):
    assert "last manager" in text_of(client_as(manager).post(role_page(manager), sent))
    assert manager.memberships.get().role == "manager"


def test_a_manager_whose_sign_in_is_closed_does_not_count_as_the_other_manager(client_as, manager, barn):
    make_person("old@hollin.example", barn, "manager", is_active=False)
    assert "last manager" in text_of(
        client_as(manager).post(role_page(manager), {"what": "role", "role": "staff"})
    )


def test_with_another_manager_one_may_go(client_as, manager, barn):
    second = make_person("second@hollin.example", barn, "manager")
    assert client_as(second).post(role_page(manager), {"what": "remove"}).status_code == 302
    assert not manager.memberships.exists()
    assert Person.objects.filter(pk=manager.pk).exists()


def test_the_end_of_a_membership_ends_what_it_opened_here(client, client_as, manager, owner, car, barn):
    token, _ = make_token(
        membership=owner.memberships.get(), name="x", scopes=["read:cars"], expires_at=None, now=NOW
    )
    later = NOW + timedelta(days=9)
    share, _ = make_share(vehicle=car, by=owner, now=NOW, expires_at=later, scope={"reader": "A buyer"})
    client.post(reverse("sign_in"), {"login": owner.email, "password": "long-enough-pass"})
    client_as(manager).post(role_page(owner), {"what": "remove"})
    assert client.get(reverse("me")).status_code == 302, "signed out"
    assert not ApiToken.objects.filter(pk=token.pk).exists()
    share.refresh_from_db()
    assert share.revoked_at
    assert not Owner.objects.filter(person=owner).exists()
    owner.refresh_from_db()
    assert owner.is_active, "the sign-in itself is not theirs to close"


def test_the_end_of_a_membership_leaves_sessions_elsewhere_alone(client_as, manager, keeper, other_barn):
    Membership.objects.create(person=keeper, organisation=other_barn, role="staff")
    client, here = Client(), Client()
    for each in (client, here):
        each.post(reverse("sign_in"), {"login": keeper.email, "password": "long-enough-pass"})
    client.post(reverse("me"), {"what": "organisation", "organisation": other_barn.pk})
    barn_page = reverse("member_edit", args=[keeper.memberships.first().pk])
    client_as(manager).post(barn_page, {"what": "remove"})
    assert client.get(reverse("cars")).status_code == 200
    assert here.get(reverse("cars")).status_code == 302


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
    page = text_of(client_as(manager).get(reverse("people")))
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
    with django_assert_num_queries(7):
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


@pytest.mark.parametrize("ticked", [True, False])
def test_a_new_password_ends_other_sessions_and_tokens_if_asked(client, keeper, ticked):
    there, membership = Client(), keeper.memberships.get()
    make_token(membership=membership, name="x", scopes=["read:cars"], expires_at=None, now=NOW)
    for each in (client, there):
        each.post(reverse("sign_in"), {"login": keeper.email, "password": "long-enough-pass"})
    assert "1 programme" in text_of(client.get(reverse("me")))
    sent = {"what": "password", "old": "long-enough-pass", "password": PASSWORD, "again": PASSWORD}
    client.post(reverse("me"), sent | ({"tokens": "on"} if ticked else {}))
    assert client.get(reverse("me")).status_code == 200
    assert there.get(reverse("me")).status_code == 302
    assert (ApiToken.objects.get().ended_at is not None) is ticked
    assert "password has been changed" in mail.outbox[-1].body


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
        assert "do not belong together" in text_of(response)


def test_a_sign_in_for_nobody_is_told_what_to_do(client_as, stranger):
    response = client_as(stranger).get(reverse("cars"))
    assert response.status_code == 403
    assert "ask a manager to invite you" in text_of(response)
    assert "Sign out" in text_of(response)


def test_the_page_asked_for_comes_after_signing_in(client, keeper):
    sent = {"login": keeper.email, "password": "long-enough-pass", "next": "/cars/"}
    assert client.post(f"{reverse('sign_in')}?next=/cars/", sent).url == "/cars/"
    client.logout()
    sent["next"] = "https://elsewhere.example/"
    assert client.post(reverse("sign_in"), sent).url == reverse("collection")

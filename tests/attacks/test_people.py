"""Who may come in and who runs what: taken over, guessed, shut out, looked into — or not."""

import re
from datetime import UTC, datetime, timedelta
from io import StringIO

import pytest
from django.core import mail
from django.core.exceptions import ValidationError
from django.core.management import CommandError, call_command
from django.db import IntegrityError, transaction
from django.test import Client, override_settings
from django.urls import reverse

from collection.models import Invitation, Membership, Operator, Organisation, Person, SignIn
from collection.people import tries
from collection.people.actions.invitations import invitation_of, invite, join_as_new
from collection.people.actions.operators import end_operator
from tests.barn import make_operator, make_person

PASSWORD, NEW = "long-enough-pass", "cold-hands-warm-engine"
NOW = datetime.now(UTC)


def text_of(response):
    return response.content.decode()


def enter(client, email, password=PASSWORD):
    return client.post(reverse("sign_in"), {"login": email, "password": password})


def is_in(client):
    return client.get(reverse("me")).status_code == 200


def confirmed(person):
    """Signed in, and the password typed once more."""
    client = Client()
    enter(client, person.email)
    client.post(reverse("account_reauthenticate"), {"password": PASSWORD})
    return client


def link_for(client, email, role="viewer"):
    answer = client.post(reverse("member_new"), {"email": email, "role": role})
    return answer.context["link"].removeprefix("http://testserver")


def from_network(address):
    return Client(headers={"x-forwarded-for": address})


@pytest.fixture
def behind_a_proxy():
    with override_settings(ALLAUTH_TRUSTED_PROXY_COUNT=1):
        yield


# a manager and the sign-ins of others


def blind(text, email):
    """A page without what is different each time."""
    text = re.sub(r"csrfmiddlewaretoken\W+value=\W\w+", "", text)
    text = re.sub(r"/invitations/\d+/", "", text)
    return re.sub(r"/invitation/[^/<\s]+", "", text).replace(email, "ADDRESS")


@pytest.mark.parametrize("sends_mail", [True, False])
def test_inviting_says_the_same_of_an_address_that_is_known_elsewhere(
    client_as, manager, outsider, sends_mail
):
    answers = []
    with override_settings(SENDS_MAIL=sends_mail):
        for email in (outsider.email, "nobody@nowhere.example"):
            client = client_as(manager)
            answer = client.post(reverse("member_new"), {"email": email, "role": "viewer"}, follow=True)
            answers.append(blind(text_of(answer), email))
            Invitation.objects.all().delete()
    assert answers[0] == answers[1]
    assert [len(message.to) for message in mail.outbox] == ([1, 1] if sends_mail else [])
    said_by_mail = {blind(message.body, message.to[0]) for message in mail.outbox}
    assert len(said_by_mail) == (1 if sends_mail else 0)


def test_the_page_of_a_link_says_the_same_of_both(client_as, manager, outsider):
    answers = [
        blind(text_of(Client().get(link_for(client_as(manager), email))), email)
        for email in (outsider.email, "nobody@nowhere.example")
    ]
    assert answers[0] == answers[1]


def test_a_manager_takes_no_sign_in_over_by_inviting_its_address(client_as, manager, outsider, barn):
    link = link_for(client_as(manager), outsider.email, "manager")
    answer = Client().post(link, {"name": "Imposter", "password": NEW, "again": NEW})
    assert "cannot be used" in text_of(answer)
    mine = client_as(manager)
    assert "then open the link again" in text_of(mine.post(link)), "nor with their own sign-in"
    outsider.refresh_from_db()
    assert outsider.check_password(PASSWORD)
    assert outsider.name != "Imposter"
    assert not outsider.memberships.filter(organisation=barn).exists()


@pytest.mark.parametrize(
    "sent",
    [
        {"what": "password", "password": NEW, "again": NEW},
        {"what": "role", "role": "staff", "is_active": ""},
        {"what": "second"},
        {"what": "link"},
        {"what": "open"},
    ],
)
def test_a_manager_changes_nothing_of_a_members_sign_in(client_as, manager, keeper, sent):
    page = reverse("member_edit", args=[keeper.memberships.get().pk])
    client_as(manager).post(page, sent)
    keeper.refresh_from_db()
    assert keeper.check_password(PASSWORD)
    assert keeper.is_active


def test_nothing_on_a_members_page_says_what_else_they_are(client_as, manager, barn, other_barn):
    plain, busy = make_person("one@hollin.example", barn, "staff"), make_operator("two@hollin.example")
    Membership.objects.create(person=busy, organisation=barn, role="staff")
    Membership.objects.create(person=busy, organisation=other_barn, role="manager")
    answers = []
    for person in (plain, busy):
        page = reverse("member_edit", args=[person.memberships.get(organisation=barn).pk])
        text = text_of(client_as(manager).get(page)).replace(person.name, "NAME")
        number = str(person.memberships.get(organisation=barn).pk)
        answers.append(blind(text, person.email).replace(f"/{number}/", "/N/"))
    assert answers[0] == answers[1]


# links


@pytest.fixture
def asked(barn, manager):
    sent = {"organisation": barn, "email": "wim@hollin.example", "role": "viewer", "sites": ()}
    return invite(**sent, by=manager, now=NOW)


def test_a_link_works_once(asked):
    invitation, secret = asked
    assert invitation_of(secret, NOW) == invitation
    join_as_new(invitation=invitation, name="Wim", password=NEW, now=NOW)
    assert invitation_of(secret, NOW) is None


def test_of_two_who_open_it_at_once_one_joins(asked):
    invitation, _ = asked
    Invitation.objects.filter(pk=invitation.pk).update(ended_at=NOW)  # the other was quicker
    with pytest.raises(ValidationError, match="used or withdrawn"):
        join_as_new(invitation=invitation, name="Wim", password=NEW, now=NOW)
    assert not Person.objects.filter(email=invitation.email).exists(), "no half of it stays"


@pytest.mark.parametrize("later", [timedelta(days=8), timedelta(days=400)])
def test_a_link_ends_by_itself(asked, later):
    assert invitation_of(asked[1], NOW + later) is None


def test_a_link_is_signed_and_its_secret_not_stored(asked, settings):
    _, secret = asked
    unsigned, _, mark = secret.rpartition(":")
    for wrong in (unsigned, f"{unsigned}:{mark[::-1]}", f"{unsigned}x:{mark}", "", ":", "\0", "é" * 90):
        assert invitation_of(wrong, NOW) is None
    assert unsigned not in str(Invitation.objects.values_list())
    settings.SECRET_KEY = "another secret of another place, long enough"
    assert invitation_of(secret, NOW) is None


def test_links_are_not_guessed_without_end(client, asked):
    answers = [client.get(reverse("invitation", args=[f"guess-{each}"])).status_code for each in range(25)]
    assert set(answers) == {404, 429}
    assert answers[-1] == 429


def test_nobody_mails_strangers_through_us_without_end(barn, manager):
    sent = {"organisation": barn, "role": "viewer", "sites": (), "by": manager, "now": NOW}
    for each in range(30):
        invite(email=f"p{each}@x.example", **sent)
    with pytest.raises(ValidationError, match="tomorrow"):
        invite(email="one@toomany.example", **sent)


def test_no_manager_grants_keys_of_another_organisation(client_as, manager, keeper, other_barn):
    theirs = other_barn.sites.get().pk
    page = reverse("member_edit", args=[keeper.memberships.get().pk])
    for url, sent in ((page, {"what": "role"}), (reverse("member_new"), {"email": "x@x.example"})):
        answer = client_as(manager).post(url, sent | {"role": "staff", "sites": [theirs]})
        assert answer.status_code == 200, "refused at its field"
    assert not Invitation.objects.exists()
    assert theirs not in keeper.memberships.get().sites.values_list("pk", flat=True)


# guessing and shutting out


def test_waits_grow_for_a_pair_and_end(db):
    pair, now, waits = ("a@b.example", "203.0.113.0/24"), 1_000_000.0, []
    for _ in range(12):
        while wait := tries.count_try(pair, now):
            waits.append(wait)
            now += wait
    assert waits == [15, 30, 60, 120, 240, 480, 960]
    assert tries.count_try(("a@b.example", "198.51.100.0/24"), now) == 0, "nobody else waits"
    tries.forget_tries(pair)
    assert tries.count_try(pair, now) == 0


def test_a_clock_that_was_set_back_makes_nobody_wait_for_ever(db):
    pair, ahead = ("a@b.example", "203.0.113.0/24"), 2_000_000.0
    for _ in range(tries.FREE + 1):
        tries.count_try(pair, ahead)
    assert tries.count_try(pair, ahead - 1_000_000) <= tries.FIRST_S


def test_the_owner_of_an_address_is_not_shut_out_by_guesses_from_elsewhere(keeper, behind_a_proxy):
    desk = from_network("198.51.100.2")
    enter(desk, keeper.email)
    desk.post(reverse("sign_out"))
    for each in range(6):
        bad = from_network(f"203.0.113.{each}")
        for _ in range(3):
            enter(bad, keeper.email, "wrong")
    assert "Too many tries" in text_of(enter(from_network("203.0.113.9"), keeper.email)), "the guesser waits"
    assert enter(from_network("192.0.2.1"), keeper.email).status_code == 302, "any other network does not"
    assert enter(desk, keeper.email).status_code == 302, "nor does a browser that was in before"


def test_not_even_from_the_same_network_where_the_browser_is_known(keeper, behind_a_proxy):
    desk, bad = from_network("198.51.100.2"), from_network("198.51.100.2")
    enter(desk, keeper.email)
    desk.post(reverse("sign_out"))
    for _ in range(15):
        enter(bad, keeper.email, "wrong")
    assert "Too many tries" in text_of(enter(bad, keeper.email))
    assert enter(desk, keeper.email).status_code == 302


def test_a_known_browser_guesses_no_more_than_others(keeper):
    desk = Client()
    enter(desk, keeper.email)
    desk.post(reverse("sign_out"))
    for _ in range(tries.FREE + 1):
        enter(desk, keeper.email, "wrong")
    assert "Too many tries" in text_of(enter(desk, keeper.email))


def test_a_made_up_cookie_is_no_known_browser(keeper):
    bad = Client()
    bad.cookies["longstand_device"] = "x:y:z"
    for _ in range(tries.FREE + 1):
        enter(bad, keeper.email, "wrong")
    assert "Too many tries" in text_of(enter(bad, keeper.email))


def test_a_new_password_by_mail_is_the_way_back(client, keeper):
    for _ in range(tries.FREE + 1):
        enter(client, keeper.email, "wrong")
    with override_settings(SENDS_MAIL=True):
        assert "is forgotten" in text_of(enter(client, keeper.email))
        client.post(reverse("account_reset_password"), {"email": keeper.email})
    link = re.search(r"https?://testserver(\S+)", mail.outbox[-1].body)[1]
    form = client.get(link, follow=True).redirect_chain[-1][0]
    assert client.post(form, {"password1": NEW, "password2": NEW}).status_code == 302
    assert enter(client, keeper.email, NEW).status_code == 302


# sign-ins that are not like those before


def test_the_first_sign_in_is_not_suspicious_and_the_same_again_neither(client, keeper):
    for _ in range(2):
        enter(client, keeper.email)
        client.post(reverse("sign_out"))
    assert not mail.outbox
    assert not SignIn.objects.filter(new_device=True).exists()


def test_a_new_browser_is_written_of_and_shown(client, keeper):
    enter(client, keeper.email)
    enter(Client(headers={"user-agent": "Somebody else's"}), keeper.email)
    assert mail.outbox[-1].to == [keeper.email]
    assert "a browser that you have not used before" in mail.outbox[-1].body
    page = text_of(client.get(reverse("me")))
    assert "Somebody else&#x27;s" in page
    assert "new browser" in page


def test_a_new_network_is_written_of_with_a_browser_that_is_known(keeper, behind_a_proxy):
    client = from_network("198.51.100.2")
    enter(client, keeper.email)
    client.post(reverse("sign_out"))
    client.defaults["HTTP_X_FORWARDED_FOR"] = "203.0.113.7"
    client.headers = None
    client.post(reverse("sign_in"), {"login": keeper.email, "password": PASSWORD})
    assert SignIn.objects.first().new_network
    assert "from a network that you have not" in mail.outbox[-1].body


def test_no_cookie_of_a_browser_is_stored_or_in_the_personal_file(client, keeper):
    enter(client, keeper.email)
    cookie = client.cookies["longstand_device"].value
    assert client.cookies["longstand_device"]["httponly"]
    assert cookie.split(":")[0] not in str(SignIn.objects.values_list())
    assert SignIn.objects.get().device not in text_of(client.get(reverse("my_data")))


# operators


def test_a_manager_is_no_operator_and_makes_none(client_as, manager):
    sent = {"what": "name", "name-email": manager.email}
    assert client_as(manager).post(reverse("operators"), sent).status_code == 403
    assert not Operator.objects.exists()


def test_an_open_screen_of_an_operator_changes_nothing(client_as, operator, keeper):
    client_as(operator).post(reverse("operators"), {"what": "name", "name-email": keeper.email})
    assert Operator.objects.count() == 1


def test_an_operator_names_another_who_is_one_at_once(operator, keeper):
    sent = {"what": "name", "name-email": keeper.email.upper()}
    assert confirmed(operator).post(reverse("operators"), sent).status_code == 302
    assert Operator.objects.get(person=keeper).given_by == operator
    assert confirmed(keeper).get(reverse("operators")).status_code == 200


def test_an_operator_hands_over_and_is_none_any_more(operator, keeper):
    client = confirmed(operator)
    client.post(reverse("operators"), {"what": "hand", "hand-email": keeper.email})
    assert client.get(reverse("operators")).status_code == 403
    assert confirmed(keeper).get(reverse("operators")).status_code == 200
    page = text_of(confirmed(keeper).get(reverse("operators")))
    assert operator.email in page, "who was it before stays to be seen"


def test_the_last_operator_cannot_be_ended(operator, keeper):
    client, grant = confirmed(operator), Operator.objects.get()
    sent = {"what": "end", "grant": grant.pk}
    assert "last operator" in text_of(client.post(reverse("operators"), sent, follow=True))
    assert "last operator" in text_of(
        client.post(reverse("sign_in_edit", args=[operator.pk]), {"what": "open"})
    )
    closed = make_operator("closed@machine.example")
    Person.objects.filter(pk=closed.pk).update(is_active=False)
    with pytest.raises(ValidationError, match="last operator"):
        end_operator(grant=grant, by=operator, now=NOW)
    other = make_operator("other@machine.example")
    assert client.post(reverse("operators"), sent).status_code == 302
    assert Operator.objects.filter(ended_at__isnull=True, person=other).exists()
    assert not Operator.objects.filter(ended_at__isnull=True, person=operator).exists()


def test_nobody_is_an_operator_twice(operator):
    with pytest.raises(IntegrityError), transaction.atomic():
        Operator.objects.create(person=operator, given_at=NOW)


@pytest.mark.parametrize("sent", [{}, {"grant": "x"}, {"grant": "9" * 30}, {"grant": "-1"}])
def test_a_grant_that_is_none_is_not_found(operator, sent):
    assert confirmed(operator).post(reverse("operators"), {"what": "end"} | sent).status_code == 404


def test_the_command_names_one_when_all_are_lost(keeper):
    out = StringIO()
    call_command("operator", keeper.email, stdout=out)
    assert Operator.objects.get().person == keeper
    assert keeper.email in out.getvalue()
    for wrong in ("nobody@nowhere.example", keeper.email):
        with pytest.raises(CommandError):
            call_command("operator", wrong)


def test_a_closed_sign_in_is_out_at_once_and_runs_nothing(operator, keeper):
    make_operator("second@machine.example")
    inside = Client()
    enter(inside, keeper.email)
    confirmed(operator).post(reverse("sign_in_edit", args=[keeper.pk]), {"what": "open"})
    assert not is_in(inside)
    assert "has been closed" in text_of(inside.get(enter(inside, keeper.email).url))


def test_an_operator_opens_an_organisation_and_cannot_enter_one_that_has_a_manager(operator, manager, barn):
    client = confirmed(operator)
    sent = {"what": "new", "name": "Third Barn", "email": "first@third.example"}
    link = client.post(reverse("organisations"), sent).context["link"].removeprefix("http://testserver")
    Client().post(link, {"name": "First", "password": NEW, "again": NEW})
    third = Organisation.objects.get(name="Third Barn")
    assert third.memberships.get().role == "manager"
    for organisation in (third, barn):
        again = {"what": "again", "organisation": organisation.pk, "again-email": operator.email}
        assert "has a manager" in text_of(client.post(reverse("organisations"), again))
    assert not Invitation.objects.filter(email=operator.email).exists()
    assert client.get(reverse("cars")).status_code == 403


def test_without_mail_an_operator_hands_over_a_link_that_renews_a_password_once(operator, keeper):
    answer = confirmed(operator).post(reverse("sign_in_edit", args=[keeper.pk]), {"what": "link"})
    link = answer.context["link"].removeprefix("http://testserver")
    client = Client()
    form = client.get(link, follow=True).redirect_chain[-1][0]
    assert client.post(form, {"password1": NEW, "password2": NEW, "tokens": "on"}).status_code == 302
    assert enter(client, keeper.email, NEW).status_code == 302
    assert "no longer works" in text_of(Client().get(link, follow=True))


def test_the_first_manager_of_an_installation_is_its_operator(db):
    from collection.operations.actions.installation import open_installation

    person = open_installation(organisation="A", name="B", email="c@d.example", password=NEW)
    assert person.is_operator

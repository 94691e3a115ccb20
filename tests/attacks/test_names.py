"""Names and links that lead elsewhere: webhooks, links that have ended, mail under a stranger's name."""

import re
from datetime import timedelta
from ipaddress import ip_address

import pytest
import time_machine
from django.core import mail
from django.core.cache import cache
from django.test import Client, override_settings
from django.urls import reverse

from collection.due.forms.whatif import WhatIfForm
from collection.history.actions import make_share, revoke_share
from collection.host import sending
from collection.host.sending import NotSent, is_outside, post
from collection.models import ShareOpening, Site
from collection.permissions import access_of
from tests.barn import make_climate
from tests.logbook import NOON, write

ADDRESS = "https://listener.example/hook"


# webhooks


@pytest.mark.parametrize(
    "nowhere",
    [
        "192.0.2.7",
        "198.51.100.7",
        "203.0.113.7",
        "198.18.0.1",
        "192.88.99.1",
        "192.0.0.8",
        "2001:db8::7",
        "3fff::7",
        "3fff:fff:ffff::1",
        "5f00::1",
        "100::1",
        "100:0:0:1::1",
        "64:ff9b:1::1",
        "fec0::1",
        "2001:2::1",
        "2001:10::1",
        "2001:20::1",
        "3ffe::1",
        "4000::1",
        "::5db8:d822",
        "64:ff9b::c000:207",
        "::ffff:203.0.113.7",
        "2002:cb00:7107::1",
    ],
)
def test_networks_that_lead_nowhere_are_inside(nowhere):
    assert not is_outside(ip_address(nowhere))


@pytest.mark.parametrize("outside", ["93.184.216.34", "2606:2800:220:1::1", "2001:4860:4860::8888"])
def test_the_open_internet_is_outside(outside):
    assert is_outside(ip_address(outside))


def answers(monkeypatch, *turns):
    """A name that answers differently each time it is asked; what is connected to is kept."""
    left, reached = list(turns), []
    monkeypatch.setattr(
        sending, "getaddrinfo", lambda *_, **__: [(2, 1, 6, "", (end, 443)) for end in left.pop(0)]
    )

    def connect(end, timeout):
        reached.append(end[0])
        raise OSError("nobody there")

    monkeypatch.setattr(sending, "create_connection", connect)
    return reached


@pytest.mark.parametrize("inside", ["127.0.0.1", "203.0.113.7", "169.254.169.254", "fd00::1"])
def test_a_name_that_turns_inside_after_it_was_looked_at_is_not_followed(monkeypatch, inside):
    reached = answers(monkeypatch, ["93.184.216.34"], [inside])
    with pytest.raises(NotSent, match="nobody there"):
        post(ADDRESS, b"{}", {})
    assert reached == ["93.184.216.34"]
    with pytest.raises(NotSent, match="private network or to none"):
        post(ADDRESS, b"{}", {})
    assert reached == ["93.184.216.34"], "asked anew for each message, and refused before it connects"


# shared links


@pytest.fixture
def ended(car, keeper, manager, settings, tmp_path):
    """The addresses of a link that has run out and of one that was revoked; a day after both."""
    settings.DATA_DIR = tmp_path
    cache.clear()
    write(car, keeper, "note", 20, note="Left tyre low.")
    with time_machine.travel(NOON, tick=False):
        tokens = []
        for _ in range(2):
            made, token = make_share(
                vehicle=car,
                by=manager,
                now=NOON,
                expires_at=NOON + timedelta(days=1),
                scope={"reader": "A buyer"},
            )
            tokens.append(token)
        revoke_share(share=made, now=NOON)
    with time_machine.travel(NOON + timedelta(days=2), tick=False):
        yield tokens
    cache.clear()


@pytest.mark.parametrize("method", ["get", "head", "post", "put", "options"])
@pytest.mark.parametrize("name", ["shared", "shared_pdf", "shared_file"])
def test_a_link_that_has_ended_gives_nothing_by_any_address_or_method(ended, car, name, method):
    for token in ended:
        answer = getattr(Client(), method)(reverse(name, args=[token]))
        assert answer.status_code in (405, 410)
        assert car.marque not in answer.content.decode()
    assert not ShareOpening.objects.exists()


def test_ended_links_are_not_compared_either(ended, car):
    page = Client().post(reverse("shared_compare"), {"links": "\n".join(ended)})
    assert car.marque not in page.content.decode()


# mail under a stranger's name


@pytest.mark.parametrize(
    "headers",
    [
        {"HTTP_HOST": "evil.example"},
        {"HTTP_HOST": "testserver:evil.example"},
        {"HTTP_HOST": "testserver@evil.example"},
        {"HTTP_HOST": "testserver", "HTTP_X_FORWARDED_HOST": "evil.example"},
        {"HTTP_HOST": "testserver", "HTTP_FORWARDED": "host=evil.example"},
        {"HTTP_HOST": "testserver", "HTTP_ORIGIN": "https://evil.example"},
        {"HTTP_HOST": "testserver", "HTTP_REFERER": "https://evil.example/"},
    ],
)
def test_a_new_password_is_never_mailed_under_anothers_name(keeper, headers):
    cache.clear()
    with override_settings(SENDS_MAIL=True, ALLOWED_HOSTS=["testserver"]):
        answer = Client().post(reverse("account_reset_password"), {"email": keeper.email}, **headers)
    sent = [message.body for message in mail.outbox]
    assert answer.status_code == 400 or sent
    assert not any("evil" in body for body in sent)
    assert all(re.search(r"https?://testserver/", body) for body in sent)


# what an owner may ask about


def test_an_owner_is_offered_no_climate_of_a_place_where_no_car_of_theirs_stands(owner, manager, barn, car):
    far = Site.objects.create(
        organisation=barn,
        name="Secret quarry",
        time_zone="Europe/London",
        climate=make_climate(barn, "Secret quarry air"),
    )
    make_climate(barn, "Planned for the island")
    here = str(barn.sites.exclude(pk=far.pk).get().climate)
    offered = {person: {str(climate) for climate in _offered(person)} for person in (owner, manager)}
    assert here in offered[owner]
    assert not {"Secret quarry air", "Planned for the island"} & offered[owner]
    assert {"Secret quarry air", "Planned for the island", here} <= offered[manager]


def _offered(person):
    form = WhatIfForm(None, access=access_of(person))
    return form.fields["climate"].queryset

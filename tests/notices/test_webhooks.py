"""Webhooks: written with the change, sent signed, tried again, never into a private network."""

import base64
import hashlib
import hmac
import json
import threading
import time
from datetime import timedelta
from http.server import BaseHTTPRequestHandler, HTTPServer
from ipaddress import ip_address

import pytest
from django.core import mail
from django.core.exceptions import ValidationError
from django.db import transaction
from django.urls import reverse

from collection import tasks
from collection.care.actions.care import log_entry
from collection.host import sending
from collection.host.sending import Answered, NotSent, is_outside, post
from collection.life.first_states import first_state_of
from collection.life.refresh import refresh_vehicles
from collection.models import Delivery, DueChange, DutyRow, Webhook
from collection.notices.actions import webhooks as act
from collection.notices.queries.webhooks import with_something_due
from collection.notices.signatures import secret_of
from collection.notices.webhook_mail import mail_switched_off
from collection.operations import schedules
from tests.api.api_kit import now, programme
from tests.barn import TODAY

ADDRESS = "https://listener.example/longstand"
NOON = now()


@pytest.fixture
def hook(barn, manager):
    return act.make_webhook(organisation=barn, name="Listener", address=ADDRESS, by=manager, now=NOON)


@pytest.fixture
def fresh(car):
    refresh_vehicles([car.pk], today=TODAY)
    return car


class Clock:
    """Time that goes on when it is told to."""

    def __init__(self):
        self.at = NOON + timedelta(hours=1)

    def __call__(self):
        return self.at


def verify(secret, headers, body):
    """Written from the specification again, without our own code; raises where the signature is not right."""
    key = base64.b64decode(secret[len("whsec_") :])
    message = f"{headers['webhook-id']}.{headers['webhook-timestamp']}.{body.decode()}"
    wanted = base64.b64encode(hmac.new(key, message.encode(), hashlib.sha256).digest()).decode()
    signatures = [each.partition(",") for each in headers["webhook-signature"].split(" ")]
    assert any(version == "v1" and made == wanted for version, _, made in signatures)


# the change and its message


def test_a_change_is_written_down_with_what_was_and_what_is(hook, fresh, keeper):
    DueChange.objects.all().delete()
    details = {"minutes": 30, "reached_temperature": True, "driven": True}
    log_entry(
        vehicle=fresh,
        kind="run_up",
        done_at=None,
        by=keeper,
        idempotency_key="run-up-1",
        now=now(),
        details=details,
    )
    change = DueChange.objects.get()
    message = json.loads(change.body)
    assert message["type"] == "duties.changed"
    assert message["data"]["car_id"] == fresh.pk
    (run_up,) = [one for one in message["data"]["changes"] if one["duty"] == "run_up"]
    row = DutyRow.objects.get(vehicle=fresh, duty="run_up")
    assert run_up["after"]["due_on"] == row.due.isoformat()
    assert run_up["before"]["due_on"] != run_up["after"]["due_on"]
    assert change.deliveries.get().webhook == hook


def test_a_duty_that_becomes_late_is_told_though_nobody_touched_the_car(hook, fresh):
    row = DutyRow.objects.filter(vehicle=fresh, late__isnull=False, hold="").order_by("late").last()
    DueChange.objects.all().delete()
    refresh_vehicles([fresh.pk], today=row.late + timedelta(days=1))
    (message,) = [json.loads(change.body) for change in DueChange.objects.all()]
    (line,) = [one for one in message["data"]["changes"] if one["duty"] == row.duty]
    assert (line["before"]["state"], line["after"]["state"]) == (first_state_of(row, TODAY), "late")
    assert line["after"]["urgency"] == "unknown", "nothing on record bears the date"


def test_a_recompute_that_changes_nothing_tells_nothing(hook, fresh):
    DueChange.objects.all().delete()
    refresh_vehicles([fresh.pk], today=TODAY)
    assert not DueChange.objects.exists()


def test_without_anybody_to_tell_nothing_is_written(fresh, barn, manager, foreign_car):
    assert not DueChange.objects.exists()
    hook = act.make_webhook(organisation=barn, name="x", address=ADDRESS, by=manager, now=NOON)
    act.switch_off(webhook=hook, because="by hand", now=NOON)
    refresh_vehicles([fresh.pk, foreign_car.pk], today=TODAY + timedelta(days=400))
    assert not DueChange.objects.exists()


def test_another_organisation_is_told_nothing(hook, foreign_car):
    refresh_vehicles([foreign_car.pk], today=TODAY)
    assert not DueChange.objects.exists()


def test_a_change_that_is_not_kept_is_not_told(hook, car):
    with transaction.atomic():
        refresh_vehicles([car.pk], today=TODAY)
        assert DueChange.objects.exists()
        transaction.set_rollback(True)
    assert not DueChange.objects.exists()
    assert not DutyRow.objects.exists()


# sending


@pytest.fixture
def waiting(hook):
    return act.send_test(webhook=hook, now=NOON)


def send(hook, clock, *answers, tell=lambda _: None):
    """Send what waits to somebody who gives these answers; returns what they were sent."""
    given, sent = list(answers), []

    def listener(address, body, headers):
        sent.append((address, body, headers))
        answer = given.pop(0)
        if isinstance(answer, Exception):
            raise answer
        return Answered(answer)

    act.send_what_waits(hook.pk, clock=clock, tell=tell, send=listener)
    return sent


def test_a_message_is_signed_so_that_anybody_can_verify_it(hook, waiting):
    ((address, body, headers),) = send(hook, Clock(), 204)
    assert address == ADDRESS
    verify(secret_of(hook), headers, body)
    with pytest.raises(AssertionError):
        verify(secret_of(hook), headers, body + b" ")
    waiting.refresh_from_db()
    assert (waiting.state, waiting.tries, waiting.last_said) == ("delivered", 1, "answered 204")


def test_it_is_not_sent_twice(hook, waiting):
    clock = Clock()
    assert len(send(hook, clock, 200)) == 1
    assert send(hook, clock) == []


def test_a_worker_that_died_while_sending_loses_it_after_a_while_and_nobody_before(hook, waiting):
    clock = Clock()
    assert act._claim(waiting.pk, clock.at)
    assert send(hook, clock) == []
    clock.at += act.LEASE
    assert len(send(hook, clock, 200)) == 1


def test_what_fails_is_tried_again_under_the_same_id_after_growing_pauses(hook, waiting):
    clock, ids, pauses = Clock(), set(), []
    for _ in act.PAUSES:
        ((_, _, headers),) = send(hook, clock, NotSent("timed out"))
        ids.add(headers["webhook-id"])
        waiting.refresh_from_db()
        pauses.append(waiting.next_at - clock.at)
        clock.at = waiting.next_at
    assert len(ids) == 1
    assert pauses == sorted(pauses)
    assert sum(pauses, timedelta()) > timedelta(days=3)
    hook.refresh_from_db()
    assert hook.failing_since is not None
    assert hook.off_at is None


def test_an_address_that_keeps_failing_is_switched_off_and_managers_are_told(
    hook, waiting, manager, keeper, settings
):
    settings.SENDS_MAIL = True
    clock = Clock()
    for _ in range(len(act.PAUSES) + 1):
        send(hook, clock, 500, tell=mail_switched_off)
        waiting.refresh_from_db()
        clock.at = max(waiting.next_at, clock.at)
    hook.refresh_from_db()
    assert waiting.state == "given_up"
    assert hook.off_at is not None
    assert "answered 500" in hook.off_because
    assert [(message.to, hook.name in message.subject) for message in mail.outbox] == [
        ([manager.email], True)
    ]
    assert with_something_due(clock.at) == []


def test_an_address_that_says_it_is_gone_is_switched_off_at_once(hook, waiting):
    send(hook, Clock(), 410)
    hook.refresh_from_db()
    assert hook.off_at is not None


@pytest.mark.parametrize("status", [301, 302, 307, 400, 404, 429, 500, 503])
def test_only_2xx_counts_as_taken(hook, waiting, status):
    send(hook, Clock(), status)
    waiting.refresh_from_db()
    assert waiting.state == "waiting"


def test_success_ends_the_failing(hook, waiting):
    clock = Clock()
    send(hook, clock, 500)
    waiting.refresh_from_db()
    clock.at = waiting.next_at
    send(hook, clock, 200)
    hook.refresh_from_db()
    assert hook.failing_since is None


def test_after_one_failure_the_rest_waits(hook, waiting):
    act.send_test(webhook=hook, now=NOON + timedelta(minutes=1))
    assert len(send(hook, Clock(), 500, 200)) == 1


def test_a_new_secret_overlaps_with_the_old_for_a_day(hook, waiting):
    old = secret_of(hook)
    hook = act.renew_secret(webhook=hook, now=NOON)
    assert secret_of(hook) != old
    clock = Clock()
    ((_, body, headers),) = send(hook, clock, 200)
    verify(old, headers, body)
    verify(secret_of(hook), headers, body)
    later = act.send_test(webhook=hook, now=NOON)
    clock.at = NOON + timedelta(hours=25)
    ((_, body, headers),) = send(hook, clock, 200)
    assert later.pk
    verify(secret_of(hook), headers, body)
    with pytest.raises(AssertionError):
        verify(old, headers, body)


def test_the_sweep_queues_each_address_for_which_something_waits(hook, waiting, monkeypatch):
    asked = []
    monkeypatch.setattr(tasks, "leave", lambda *args: asked.append(args))
    tasks.send_changes()
    assert asked == [("collection.tasks.send_changes_to", hook.pk)]
    assert {"collection.tasks.send_changes", "collection.tasks.forget_old_messages"} <= {
        job.func for job in schedules.PERIODIC
    }


def test_old_messages_are_forgotten(hook, waiting):
    assert act.forget_old_changes(now=NOON + timedelta(days=29)) == 0
    act.forget_old_changes(now=NOON + timedelta(days=31))
    assert not Delivery.objects.exists()


# where it is sent


@pytest.mark.parametrize(
    "inside",
    [
        "127.0.0.1",
        "10.1.2.3",
        "172.16.0.1",
        "192.168.1.1",
        "169.254.169.254",
        "100.64.0.1",
        "0.0.0.0",  # noqa: S104 - nothing binds here
        "224.0.0.1",
        "240.0.0.1",
        "255.255.255.255",
        "::1",
        "::",
        "fe80::1",
        "fc00::1",
        "ff02::1",
        "::ffff:127.0.0.1",
        "::ffff:10.0.0.1",
        "64:ff9b::7f00:1",
        "64:ff9b::a9fe:a9fe",
        "2002:7f00:1::",
        "2001:db8::1",
    ],
)
def test_an_address_inside_is_known_for_one(inside):
    assert not is_outside(ip_address(inside))


@pytest.mark.parametrize("outside", ["93.184.216.34", "2606:2800:220:1::1", "64:ff9b::5db8:d822"])
def test_an_address_outside_is_known_for_one(outside):
    assert is_outside(ip_address(outside))


@pytest.mark.parametrize(
    "address",
    [
        "https://127.0.0.1/",
        "https://localhost/",
        "https://[::1]/",
        "https://2130706433/",
        "https://0x7f.1/",
        "https://169.254.169.254/latest/meta-data/",
    ],
)
def test_nothing_is_sent_inside(address, monkeypatch):
    monkeypatch.setattr(sending, "create_connection", pytest.fail)
    with pytest.raises(NotSent):
        post(address, b"{}", {})


def test_one_address_inside_among_several_is_enough_to_refuse(monkeypatch):
    resolved = [(2, 1, 6, "", (end, 443)) for end in ("93.184.216.34", "10.0.0.1")]
    monkeypatch.setattr(sending, "getaddrinfo", lambda *_, **__: resolved)
    monkeypatch.setattr(sending, "create_connection", pytest.fail)
    with pytest.raises(NotSent, match="private network"):
        post(ADDRESS, b"{}", {})


def test_the_connection_goes_to_the_address_that_was_looked_at(monkeypatch):
    """A name that answers otherwise the second time gains nothing: it is asked once."""
    asked, reached = [], []

    def resolve(*args, **kwargs):
        asked.append(args)
        return [(2, 1, 6, "", ("93.184.216.34", 443))]

    def connect(end, timeout):
        reached.append(end)
        raise OSError("no route here")

    monkeypatch.setattr(sending, "getaddrinfo", resolve)
    monkeypatch.setattr(sending, "create_connection", connect)
    with pytest.raises(NotSent, match="no route"):
        post(ADDRESS, b"{}", {})
    assert len(asked) == 1
    assert reached == [("93.184.216.34", 443)]


@pytest.mark.parametrize(
    "address",
    [
        "http://listener.example/",
        "ftp://listener.example/",
        "https://",
        "https://a:b@listener.example/",
        "https://listener.example/#x",
        "https://listener.example:99999/",
        "listener.example",
        "https://ümlaut.example/",
        "https://listener.example/\r\nHost: x",
        "https://[::1",
        "https://listener.example:0/",
    ],
)
def test_an_address_that_is_none_is_refused(barn, manager, address):
    with pytest.raises(ValidationError):
        act.make_webhook(organisation=barn, name="x", address=address, by=manager, now=NOON)
    assert not Webhook.objects.exists()


# a real listener, on this machine, which takes the setting that allows it


class Listener(BaseHTTPRequestHandler):
    def do_POST(self):
        body = self.rfile.read(int(self.headers["Content-Length"]))
        self.server.heard.append((self.path, dict(self.headers), body))
        if self.path == "/away":
            self.send_response(302)
            self.send_header("Location", "/elsewhere")
            self.end_headers()
        elif self.path == "/drip":
            for _ in range(60):
                time.sleep(0.1)
                self.wfile.write(b"HTTP/1.1 100 Continue\r\n\r\n")
        elif self.path == "/flood":
            self.send_response(200)
            self.end_headers()
            self.wfile.write(b"x" * 10_000_000)
        else:
            self.send_response(200)
            self.end_headers()

    def log_message(self, *args):
        pass


class Quiet(HTTPServer):
    def handle_error(self, request, client_address):
        """Somebody hung up, as they should."""


@pytest.fixture
def listener(settings):
    settings.WEBHOOKS_INSIDE = True
    server = Quiet(("127.0.0.1", 0), Listener)
    server.heard = []
    thread = threading.Thread(target=server.serve_forever)
    thread.start()
    yield server
    server.shutdown()
    thread.join()
    server.server_close()


def test_a_listener_gets_it_and_verifies_it(listener, barn, manager, car):
    address = f"http://localhost:{listener.server_port}/longstand?from=barn"
    hook = act.make_webhook(organisation=barn, name="Here", address=address, by=manager, now=NOON)
    refresh_vehicles([car.pk], today=TODAY)
    tasks.send_changes_to(hook.pk)
    ((path, headers, body),) = listener.heard
    assert path == "/longstand?from=barn"
    assert headers["content-type"] == "application/json"
    verify(secret_of(hook), {name.lower(): value for name, value in headers.items()}, body)
    assert json.loads(body)["data"]["car"] == str(car)
    assert Delivery.objects.get().state == "delivered"


def test_no_redirect_is_followed(listener):
    assert post(f"http://127.0.0.1:{listener.server_port}/away", b"{}", {}).status == 302
    assert [path for path, _, _ in listener.heard] == ["/away"]


def test_a_flood_is_not_read(listener):
    assert post(f"http://127.0.0.1:{listener.server_port}/flood", b"{}", {}).took_it


def test_a_listener_that_never_ends_is_cut_off(listener, monkeypatch):
    monkeypatch.setattr(sending, "ALL_SECONDS", 0.4)
    began = time.monotonic()
    with pytest.raises(NotSent):
        post(f"http://127.0.0.1:{listener.server_port}/drip", b"{}", {})
    assert time.monotonic() - began < 5


# the pages and the API


def test_a_secret_is_shown_once_and_kept_nowhere(client_as, manager, barn):
    client = client_as(manager)
    page = client.post(reverse("webhooks"), {"name": "Listener", "address": ADDRESS}, follow=True)
    hook = Webhook.objects.get()
    assert secret_of(hook) in page.content.decode()
    assert secret_of(hook) not in client.get(reverse("webhook", args=[hook.pk])).content.decode()
    assert secret_of(hook) not in str(vars(hook))


def test_every_button_does_what_it_says(client_as, manager, hook, waiting):
    client, url = client_as(manager), reverse("webhook", args=[hook.pk])
    for what, holds in (
        ("test", lambda: hook.deliveries.count() == 2),
        ("off", lambda: Webhook.objects.get().off_at is not None),
        ("on", lambda: Webhook.objects.get().off_at is None),
        ("secret", lambda: Webhook.objects.get().secret_number == 2),
    ):
        assert client.post(url, {"what": what}).status_code == 302
        assert holds(), what
    Delivery.objects.update(state="given_up", tries=10)
    client.post(url, {"again": waiting.pk})
    waiting.refresh_from_db()
    assert (waiting.state, waiting.tries) == ("waiting", 0)
    assert client.post(url, {"what": "end"}).status_code == 302
    assert not Webhook.objects.exists()


def test_nothing_of_another_organisation_is_sent_again(client_as, outsider, hook, waiting):
    assert (
        client_as(outsider).post(reverse("webhook", args=[hook.pk]), {"again": waiting.pk}).status_code == 404
    )


def test_the_api_tells_a_secret_once_and_the_same_when_asked_again(manager):
    program, sent = programme(manager), {"name": "Listener", "address": ADDRESS}
    first, again = (program.post("/webhooks", sent, key="a-key-of-mine") for _ in range(2))
    assert first.status_code == 201
    assert first.json() == again.json()
    hook = Webhook.objects.get()
    assert first.json()["secret"] == secret_of(hook)
    assert "secret" not in program.get(f"/webhooks/{hook.pk}").json()
    from collection.models import ApiWrite

    assert secret_of(hook) not in str(ApiWrite.objects.values_list("answer", flat=True))
    renewed = program.post(f"/webhooks/{hook.pk}/secret").json()
    assert renewed["secret"] == secret_of(Webhook.objects.get())
    assert renewed["secret"] != first.json()["secret"]

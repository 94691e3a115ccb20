"""Hostile requests to the API: never a 500, never another form of refusal, never a row of somebody else.

LONGSTAND_FUZZ multiplies the number of requests; the suite's own run is the smallest.
"""

import json
import os
import uuid
from datetime import timedelta, timezone

import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from collection.models import Entry, Webhook
from collection.web.problem_json import KINDS, MEDIA_TYPE
from tests.api.api_kit import ROOT, now, programme
from tests.api.test_api import address, operations, people, rows, worlds  # noqa: F401 - fixtures

MANY = int(os.environ.get("LONGSTAND_FUZZ", "1"))
RUN = {"kind": "run_up", "details": {"minutes": 25, "reached_temperature": True, "driven": True}}


def some(examples):
    """So many examples, however long each takes."""
    unhurried = [HealthCheck.function_scoped_fixture, HealthCheck.too_slow]
    return settings(max_examples=examples * MANY, deadline=None, suppress_health_check=unhurried)


@pytest.fixture
def program(manager):
    return programme(manager)


@pytest.fixture
def unlimited(monkeypatch):
    monkeypatch.setattr("collection.api.actions.tokens.MOST_A_MINUTE", 10**9)


def check_form(answer):
    """One of the refusals of the table, in their form; or no refusal."""
    assert answer.status_code in (200, 201, 204, 304) or answer.status_code in KINDS
    assert answer.status_code != 500, answer.content
    if answer.status_code >= 400:
        assert answer["Content-Type"] == MEDIA_TYPE


# moments

offsets = st.integers(-23 * 60 - 59, 23 * 60 + 59).map(lambda minutes: timezone(timedelta(minutes=minutes)))
near_moments = st.lists(st.sampled_from("0123456789-+:.TtZz ２\0\n"), max_size=40).map("".join)


@some(15)
@given(seconds=st.integers(0, 40 * 365 * 86400), micro=st.integers(0, 999_999), offset=offsets)
def test_any_moment_gone_by_is_written_as_it_was_whatever_its_offset(
    program, unlimited, car, seconds, micro, offset
):
    done = (now() - timedelta(seconds=seconds)).replace(microsecond=micro) - timedelta(seconds=1)
    sent = RUN | {"done_at": done.astimezone(offset).isoformat()}
    answer = program.post(f"/cars/{car.pk}/entries", sent)
    assert answer.status_code == 201, (sent, answer.content)
    assert Entry.objects.get(pk=answer.json()["id"]).done_at == done


@some(40)
@given(written=near_moments | st.text(max_size=40) | st.datetimes().map(str) | st.times().map(str))
@example(written="2026-11-25T09:30:00." + "9" * 19 + "Z")
@example(written="0001-01-01T00:00:00+23:59")
@example(written="9999-12-31T23:59:60-23:59")
def test_nothing_like_a_moment_brings_it_down(program, unlimited, car, written):
    raw = json.dumps(RUN | {"done_at": written}).encode()
    answer = program.post(f"/cars/{car.pk}/entries", raw)
    check_form(answer)
    assert answer.status_code == 422
    assert answer.json()["errors"][0]["field"] == "done_at"


# headers

words = st.text(st.characters(min_codepoint=32, max_codepoint=255, exclude_characters="\x7f"), max_size=60)
header_values = words | st.sampled_from(
    [
        "*/*",
        "*",
        "application/json",
        "text/html",
        ";q=",
        "a/b;q=2",
        ",",
        '"',
        'W/"x',
        '"x", *',
        "/" * 4000,
        "é",
    ]
)


@some(30)
@given(
    headers=st.dictionaries(
        st.sampled_from(
            [
                "accept",
                "if-none-match",
                "if-match",
                "if-modified-since",
                "if-unmodified-since",
                "range",
                "x-http-method-override",
                "accept-language",
                "accept-encoding",
                "x-forwarded-host",
            ]
        ),
        header_values,
        max_size=4,
    ),
    kind=header_values,
)
def test_headers_of_any_kind_are_answered_in_one_form(program, unlimited, car, headers, kind):
    sent = program.headers | headers
    check_form(program.client.get(f"{ROOT}/cars", headers=sent))
    key = {"idempotency-key": str(uuid.uuid4())}
    body = json.dumps({"kind": "note", "note": "x"})
    path = f"{ROOT}/cars/{car.pk}/entries"
    check_form(program.client.post(path, body, content_type=kind, headers=sent | key))


@pytest.mark.parametrize(
    "token", ["", "Bearer", "Bearer ", "Basic eDp5", "Bearer lst_" + "x" * 999, "Bearer é"]
)
def test_a_token_that_is_none_opens_nothing(program, token):
    answer = program.client.get(f"{ROOT}/cars", headers={"authorization": token})
    check_form(answer)
    assert answer.status_code == 401


def test_a_method_is_what_it_is_whatever_a_header_calls_it(program, car):
    headers = program.headers | {"x-http-method-override": "GET"}
    answer = program.client.delete(f"{ROOT}/cars/{car.pk}", headers=headers)
    assert answer.status_code == 405
    check_form(answer)


def test_links_lead_to_no_host_that_a_request_made_up(program, car, settings):
    settings.ALLOWED_HOSTS = ["testserver"]
    headers = program.headers | {"x-forwarded-host": "evil.example"}
    assert "evil.example" not in program.client.get(f"{ROOT}/cars", headers=headers)["Link"]
    answer = program.client.get(f"{ROOT}/cars", headers=program.headers | {"host": "evil.example"})
    assert answer.status_code == 400
    assert "Link" not in answer.headers


def test_what_is_sent_in_an_address_does_not_break_out_of_its_link(program, car):
    answer = program.get("/cars", text='x>; rel="next", <https://evil.example/', limit=1)
    assert answer["Link"].count("<") == 2  # first and last
    assert "evil.example/>" not in answer["Link"]
    assert "\n" not in answer["Link"]


# rows of others

FILTERED = (
    ("/cars", "site_id"),
    ("/duties", "site_id"),
    ("/entries", "car_id"),
    ("/readings", "car_id"),
)


@pytest.mark.parametrize(("path", "name"), FILTERED)
def test_a_filter_by_a_row_of_others_finds_nothing(program, worlds, path, name):  # noqa: F811
    asked = {name: worlds["foreign"][name]}
    assert program.get(path, **asked).json()["total"] == 0


def test_an_etag_of_others_tells_nothing(program, worlds, people):  # noqa: F811
    """What stands behind an address out of reach is refused before any ETag is looked at."""
    theirs = programme(people["outsider"])
    for name, method, path, _ in operations():
        if method != "get" or "{" not in path:
            continue
        url = ROOT + address(name, path, worlds["foreign"])
        etag = theirs.client.get(url, headers=theirs.headers)["ETag"]
        for sent in (etag, "*"):
            answer = program.client.get(url, headers=program.headers | {"if-none-match": sent})
            assert answer.status_code == 404, name
            check_form(answer)


# addresses to be told

GOOD_PORTS = ["1", "80", "443", "8443", "9999", "10000", "49152", "65535"]
BAD_PORTS = ["0", "00443", "65536", "99999", "655350", "-1", "+443", "44 3", "4a", "４４３", "443:443"]


@pytest.mark.parametrize("port", GOOD_PORTS)
def test_any_port_may_be_written(program, port):
    place = f"https://listener.example:{port}/in?x=1"
    answer = program.post("/webhooks", {"name": "Listener", "address": place})
    assert answer.status_code == 201, answer.content
    assert answer.json()["address"] == place


@pytest.mark.parametrize("port", BAD_PORTS)
def test_what_is_no_port_is_refused(program, barn, port):
    answer = program.post("/webhooks", {"name": "Listener", "address": f"https://listener.example:{port}/"})
    assert answer.status_code == 422
    assert answer.json()["errors"][0]["field"] == "address"
    assert not Webhook.objects.exists()

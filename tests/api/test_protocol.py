"""How the API keeps to HTTP: refusals in one form, ETags, links to pages, types of what is sent and taken."""

import json
import logging
from urllib.parse import parse_qs, urlsplit

import pytest
from django.db import OperationalError
from django.test import Client
from django.urls import reverse

from collection.models import Entry, Owner
from collection.web.problem_json import KINDS, MEDIA_TYPE
from tests.api.api_kit import ROOT, programme
from tests.api.test_api import (  # noqa: F401 - fixtures among them
    address,
    operations,
    people,
    rows,
    worlds,
)
from tests.barn import make_car

NOTE = {"kind": "note", "note": "walked round"}


@pytest.fixture
def program(manager):
    return programme(manager)


def problem_of(answer, status):
    """The refusal in its one form."""
    assert answer.status_code == status, answer.content
    assert answer["Content-Type"] == MEDIA_TYPE
    body = answer.json()
    assert body["status"] == status
    assert body["title"] == KINDS[status][0]
    assert body["type"] == f"/api/docs/#problem-{status}"
    assert body["detail"]
    return body


# methods, types


@pytest.mark.parametrize("method", ["put", "patch", "delete", "options", "head", "trace", "post"])
def test_a_method_that_an_address_has_not_is_refused_with_those_it_has(program, car, method):
    answer = program.client.generic(method.upper(), f"{ROOT}/cars/{car.pk}", headers=program.headers)
    assert answer["Allow"] == "GET"
    if method == "head":
        assert (answer.status_code, answer["Content-Type"]) == (405, MEDIA_TYPE)
    else:
        problem_of(answer, 405)


def test_an_address_with_two_methods_names_both(program, worlds):  # noqa: F811
    hook = worlds["own"]["webhook_id"]
    answer = program.client.patch(f"{ROOT}/webhooks/{hook}", headers=program.headers)
    assert set(answer["Allow"].split(", ")) == {"GET", "DELETE"}
    problem_of(answer, 405)


def test_the_description_is_read_and_nothing_else(db):
    problem_of(Client().post(reverse("openapi")), 405)


@pytest.mark.parametrize("path", ["/", "/no/such/thing", "/cars/", "/cars/1/", "//cars"])
def test_an_address_that_is_none_is_refused_in_the_same_form(program, path):
    problem_of(program.get(path), 404)


@pytest.mark.parametrize(
    "accept", ["text/html", "image/*", "application/xml;q=0.9", "nonsense", "application/json;q=0"]
)
def test_who_takes_no_json_is_told_so_and_nothing_is_written(program, car, accept):
    headers = program.headers | {"accept": accept}
    problem_of(program.client.get(f"{ROOT}/cars", headers=headers), 406)
    sent = json.dumps(NOTE)
    answer = program.client.post(
        f"{ROOT}/cars/{car.pk}/entries",
        sent,
        content_type="application/json",
        headers=headers | {"idempotency-key": "key-of-mine"},
    )
    problem_of(answer, 406)
    assert not Entry.objects.exists()


@pytest.mark.parametrize("accept", ["*/*", "application/json", "application/*;q=0.1, text/html", ""])
def test_who_takes_json_gets_it(program, car, accept):
    answer = program.client.get(f"{ROOT}/cars", headers=program.headers | {"accept": accept})
    assert answer.status_code == 200


def test_a_file_is_given_to_who_takes_its_kind(program, worlds):  # noqa: F811
    path = "{root}/cars/{car_id}/entries/{entry_id}/files/{file_id}".format(root=ROOT, **worlds["own"])
    assert program.client.get(path, headers=program.headers | {"accept": "image/*"}).status_code == 200
    problem_of(program.client.get(path, headers=program.headers | {"accept": "application/json"}), 406)


TYPES = [
    "",
    "application/x-www-form-urlencoded",
    "text/plain",
    "application/xml",
    "multipart/form-data; boundary=x",
]


@pytest.mark.parametrize("kind", TYPES)
def test_a_body_of_another_type_is_refused_and_nothing_is_written(program, car, kind):
    answer = program.client.generic(
        "POST",
        f"{ROOT}/cars/{car.pk}/entries",
        json.dumps(NOTE),
        content_type=kind,
        headers=program.headers | {"idempotency-key": "key-of-mine"},
    )
    problem_of(answer, 415)
    assert not Entry.objects.exists()


def test_json_with_its_charset_is_taken(program, car):
    answer = program.client.generic(
        "POST",
        f"{ROOT}/cars/{car.pk}/entries",
        json.dumps(NOTE),
        content_type="application/json; charset=utf-8",
        headers=program.headers | {"idempotency-key": "key-of-mine"},
    )
    assert answer.status_code == 201


# faults of ours


def test_a_database_that_stays_locked_is_told_with_how_long_to_wait(program, car, monkeypatch, caplog):
    def locked(*args, **kwargs):
        raise OperationalError("the connection was lost")

    monkeypatch.setattr("collection.api.care_write.log_entry", locked)
    with caplog.at_level(logging.CRITICAL, "collection.api.problems"):
        answer = program.post(f"/cars/{car.pk}/entries", NOTE)
    problem_of(answer, 503)
    assert int(answer["Retry-After"]) >= 1
    monkeypatch.undo()
    assert program.post(f"/cars/{car.pk}/entries", NOTE).status_code == 201


def test_a_database_out_of_reach_is_told_so_before_anybody_is_let_in(program, monkeypatch, caplog):
    def gone(**kwargs):
        raise OperationalError("connection refused")

    monkeypatch.setattr("collection.api.door.use_token", gone)
    with caplog.at_level(logging.CRITICAL, "collection.api.problems"):
        answer = program.get("/cars")
    problem_of(answer, 503)
    assert int(answer["Retry-After"]) >= 1


def test_a_defect_says_nothing_of_itself(program, monkeypatch, caplog):
    def broken(*args, **kwargs):
        raise RuntimeError("the secret of the house")

    monkeypatch.setattr("collection.api.cars.cars_listed", broken)
    with caplog.at_level(logging.CRITICAL, "collection.api.problems"):
        answer = program.get("/cars")
    problem_of(answer, 500)
    assert "secret" not in answer.content.decode()


# ETags


def test_every_read_has_an_etag_and_is_not_sent_twice(program, worlds, time_machine):  # noqa: F811
    time_machine.move_to("2026-11-25T10:00:00Z", tick=False)
    for name, method, path, _ in operations():
        if method != "get":
            continue
        url = ROOT + address(name, path, worlds["own"])
        first = program.client.get(url, headers=program.headers)
        again = program.client.get(url, headers=program.headers | {"if-none-match": first["ETag"]})
        assert (first.status_code, again.status_code) == (200, 304), name
        assert again.content == b"", name
        assert again["ETag"] == first["ETag"], name
        assert again["Cache-Control"] == "private, no-cache", name
        assert {"Accept", "Authorization"} <= {one.strip() for one in again["Vary"].split(",")}, name


def test_a_change_makes_another_etag(program, car):
    before = program.get("/entries")["ETag"]
    program.post(f"/cars/{car.pk}/entries", NOTE)
    again = program.client.get(f"{ROOT}/entries", headers=program.headers | {"if-none-match": before})
    assert again.status_code == 200
    assert again["ETag"] != before


def test_the_etag_of_one_token_says_nothing_to_another(program, manager, car):
    bare = programme(manager, "read:cars")
    named = program.get(f"/cars/{car.pk}")
    asked = bare.client.get(f"{ROOT}/cars/{car.pk}", headers=bare.headers | {"if-none-match": named["ETag"]})
    assert asked.status_code == 200
    assert asked.json()["owner"]["name"] is None


def test_refusals_have_no_etag(program):
    assert "ETag" not in program.get("/cars/999999").headers


def test_the_description_is_not_sent_twice(db):
    client = Client()
    etag = client.get(reverse("openapi"))["ETag"]
    assert client.get(reverse("openapi"), headers={"if-none-match": etag}).status_code == 304


# pages


def links_of(answer):
    """Relations to addresses, as any reader of RFC 8288 finds them."""
    links = {}
    for link in answer["Link"].split(", "):
        target, relation = link.split("; ")
        links[relation.removeprefix('rel="').removesuffix('"')] = target.strip("<>")
    return links


def follow(program, target):
    parts = urlsplit(target)
    return program.client.get(f"{parts.path}?{parts.query}", headers=program.headers)


def test_pages_of_a_list_are_linked_there_and_back_with_their_filters(program, barn):
    ada, bob = (Owner.objects.create(organisation=barn, name=name) for name in ("Ada Wren", "Bob Hale"))
    for number in range(7):
        make_car(barn, ada if number < 5 else bob, model=f"No {number}")
    answer, seen = program.get("/cars", owner_id=ada.pk, text="no wend", limit=2), []
    assert set(links_of(answer)) == {"first", "next", "last"}
    while True:
        seen += [one["id"] for one in answer.json()["items"]]
        if "next" not in links_of(answer):
            break
        assert parse_qs(urlsplit(links_of(answer)["next"]).query)["text"] == ["no wend"]
        answer = follow(program, links_of(answer)["next"])
    assert len(seen) == len(set(seen)) == 5
    assert set(links_of(answer)) == {"first", "prev", "last"}
    assert answer.json()["offset"] == 4
    back = follow(program, links_of(answer)["prev"])
    assert back.json()["offset"] == 2


@pytest.mark.parametrize(
    ("offset", "relations"),
    [
        (0, {"first": 0, "last": 2, "next": 2}),
        (1, {"first": 0, "last": 2, "prev": 0}),
        (2, {"first": 0, "last": 2, "prev": 0}),
        (3, {"first": 0, "last": 2, "prev": 1}),
        (1_000_000, {"first": 0, "last": 2, "prev": 2}),
    ],
)
def test_every_link_is_a_page_that_can_be_read(program, barn, offset, relations):
    ada = Owner.objects.create(organisation=barn, name="Ada Wren")
    for number in range(3):
        make_car(barn, ada, model=f"No {number}")
    links = links_of(program.get("/cars", limit=2, offset=offset))
    assert {each: int(parse_qs(urlsplit(one).query)["offset"][0]) for each, one in links.items()} == relations
    assert all(follow(program, one).status_code == 200 for one in links.values())


def test_an_empty_list_has_one_page(program, barn):
    answer = program.get("/cars")
    assert set(links_of(answer)) == {"first", "last"}
    assert {parse_qs(urlsplit(one).query)["offset"][0] for one in links_of(answer).values()} == {"0"}


def test_what_is_no_page_of_a_list_has_no_link(program, car):
    assert "Link" not in program.get(f"/cars/{car.pk}").headers
    assert "Link" not in program.get("/thresholds").headers

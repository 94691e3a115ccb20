"""The API: every operation as each role, with each scope, to each kind of row; its description is valid."""

import json
import uuid
from datetime import timedelta

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from collection.api.actions.tokens import MOST_A_MINUTE, allowed_scopes, end_token, make_token
from collection.api.site import schema
from collection.life.refresh import refresh_organisation
from collection.models import ApiToken, Bay, Building, Entry, Owner
from collection.notices.actions.webhooks import make_webhook, send_test
from collection.permissions import SCOPES
from tests.api.api_kit import ROOT, Programme, now, programme, token_for
from tests.barn import TODAY, make_car, make_person, write_car_notes
from tests.people import test_permissions
from tests.people.test_permissions import MAY, PEOPLE, WORLDS, make_entry

# said here a second time on purpose, so that a slip in collection.permissions is caught
NEEDED = {
    "read:cars": "see",
    "read:log": "see",
    "write:log": "work",
    "read:people": "see",
    "read:rules": "manage",
    "manage:webhooks": "manage",
}
# operations whose role must be able to do more than the scope asks
MORE = {"list_buildings": "work", "list_bays": "work", "read_week": "work", "list_members": "manage"}
ALONG = {"read_proof": ("read:people",)}  # what an operation asks for besides
BODIES = {
    "write_entry": {"kind": "note", "note": "walked"},
    "correct_entry": {"kind": "note", "note": "walked again"},
    "withdraw_entry": {"note": "never was"},
    "write_finding": {"found": "Damage"},
    "answer_finding": {"words": "mended"},
    "make_webhook": {"name": "Listener", "address": "https://listener.example/"},
}


def operations():
    """Every operation of the description: id, method, path without its root, scope."""
    for path, methods in schema()["paths"].items():
        for method, one in methods.items():
            (scopes,) = one["security"][0].values()
            yield one["operationId"], method, path.removeprefix(ROOT), scopes[0] if scopes else ""


IDS = [each[0] for each in operations()]


people, rows = test_permissions.people, test_permissions.rows  # its fixtures, for the same walk


@pytest.fixture
def worlds(rows, people):
    """For each world the keys that stand in addresses."""
    made = {}
    for world, row in rows.items():
        organisation = row["car"].organisation
        by = people["outsider" if world == "foreign" else "manager"]
        hook = organisation.webhooks.first() or make_webhook(
            organisation=organisation, name="Listener", address="https://listener.example/", by=by, now=now()
        )
        delivery = hook.deliveries.first() or send_test(webhook=hook, now=now())
        made[world] = {
            "car_id": row["car"].pk,
            "site_id": row["site"].pk,
            "statement_id": row["statement"].pk,
            "entry_id": row["entry"].pk,
            "file_id": row["file"].pk,
            "webhook_id": hook.pk,
            "delivery_id": delivery.pk,
            "duty": "charge",
            "answer_finding": row["finding"].pk,
            "withdraw_entry": make_entry(row["car"], by).pk,
        }
    return made


def address(name, path, keys):
    if name in ("answer_finding", "withdraw_entry"):
        keys = keys | {"entry_id": keys[name]}
    return path.format(**keys)


def ask(program, name, method, path, keys):
    url = address(name, path, keys)
    return program.get(url) if method == "get" else program.send(method, url, BODIES.get(name))


def expected(name, path, scope, person, world):
    """The statuses that may be answered to a person with a token of that scope."""
    role, reach = PEOPLE[person]
    needs = MORE.get(name, NEEDED.get(scope, "see"))
    if scope and scope not in allowed_scopes(role):
        return {403}
    if needs not in MAY[role]:
        return {403}
    if world not in reach and "{" in path:
        return {404}
    return {200, 201, 204}


def test_the_description_is_valid_openapi_3_1():
    made = schema()
    assert made["openapi"].startswith("3.1")
    from openapi_spec_validator import validate  # a second and a half, which other workers need not wait

    validate(made)


def test_every_operation_says_what_it_is_what_it_refuses_and_how():
    for path, methods in schema()["paths"].items():
        for method, one in methods.items():
            assert one["summary"], path
            assert one["description"], path
            refused = {code for code in one["responses"] if code >= "400"}
            assert refused >= {"401", "403", "422", "429"}, path
            for code in refused:
                assert list(one["responses"][code]["content"]) == ["application/problem+json"], path
            if method == "post":
                names = {each["name"] for each in one["parameters"]}
                assert "Idempotency-Key" in names, path


def test_the_scopes_are_those_of_the_table():
    assert {scope: needed for scope, (_, needed) in SCOPES.items()}.keys() == NEEDED.keys()
    for role, capabilities in MAY.items():
        assert set(allowed_scopes(role)) == {s for s, needed in NEEDED.items() if needed in capabilities}


@pytest.mark.parametrize("person", PEOPLE)
def test_a_token_reaches_what_its_holder_reaches_and_nothing_else(people, worlds, person):
    program, strange = programme(people[person]), []
    for name, method, path, scope in sorted(operations(), key=lambda each: each[1] == "delete"):
        for world in WORLDS if "{" in path else ["own"]:
            answer = ask(program, name, method, path, worlds[world])
            allowed = expected(name, path, scope, person, world)
            if name == "end_webhook" and world == "neighbour":
                allowed = allowed | {404}  # the same one, ended just now
            if answer.status_code not in allowed:
                strange.append(f"{name}, {world}: {answer.status_code}, not {allowed}: {answer.content}")
            if answer.status_code >= 400:
                assert answer["Content-Type"] == "application/problem+json", name
    assert strange == []


@pytest.mark.parametrize("scope", [None, *SCOPES])
def test_a_token_does_only_what_it_was_given(manager, worlds, scope):
    program = programme(manager, *([scope] if scope else ["read:people"]))
    for name, method, path, needed in operations():
        along = [each for each in ALONG.get(name, ()) if each != scope]
        if needed and (needed != (scope or "read:people") or along):
            answer = ask(program, name, method, path, worlds["own"])
            assert answer.status_code == 403, name
            assert "scope" in answer.json()["detail"], name


@pytest.mark.django_db
def test_a_session_opens_nothing(client_as, manager, worlds):
    client = client_as(manager)
    for name, method, path, _ in operations():
        answer = getattr(client, method)(ROOT + address(name, path, worlds["own"]))
        assert answer.status_code == 401, name
        assert answer["WWW-Authenticate"].startswith("Bearer")


# tokens


def test_a_token_is_kept_as_a_digest_and_told_once(client_as, manager):
    client = client_as(manager)
    page = client.post(reverse("tokens"), {"name": "Script", "scopes": ["read:cars"], "ends": ""})
    secret = page.context["secret"]
    assert secret in page.content.decode()
    assert secret not in client.get(reverse("tokens")).content.decode()
    token = ApiToken.objects.get()
    assert secret not in json.dumps([str(value) for value in vars(token).values()])
    assert secret.startswith(token.prefix)
    assert page["Cache-Control"] == "private, no-store"
    assert Programme(secret).get("/me").json()["scopes"] == ["read:cars"]


def test_a_role_gives_only_what_it_may(client_as, viewer):
    page = client_as(viewer).post(reverse("tokens"), {"name": "x", "scopes": ["write:log"], "ends": ""})
    assert "scopes" in page.context["form"].errors
    assert not ApiToken.objects.exists()


def test_a_token_may_no_more_than_the_role_now(keeper, car):
    program, membership = programme(keeper), keeper.memberships.get()
    path, note = f"/cars/{car.pk}/entries", {"kind": "note", "note": "x"}
    assert program.post(path, note).status_code == 201
    membership.role = "viewer"
    membership.save()
    assert program.post(path, note).status_code == 403
    assert program.get("/cars").status_code == 200
    membership.delete()
    assert program.get("/cars").status_code == 401


@pytest.mark.parametrize("how", ["ended", "ran out", "closed"])
def test_a_token_that_has_ended_opens_nothing(manager, how):
    token, secret = token_for(manager, expires_at=now() + timedelta(days=1))
    program = Programme(secret)
    assert program.get("/me").status_code == 200
    if how == "ended":
        end_token(token=token, now=now())
    elif how == "ran out":
        ApiToken.objects.update(expires_at=now() - timedelta(seconds=1))
    else:
        manager.is_active = False
        manager.save()
    assert program.get("/me").status_code == 401


def test_nobody_ends_the_token_of_another(client_as, manager, keeper):
    token, _ = token_for(keeper)
    assert client_as(manager).post(reverse("tokens"), {"end": token.pk}).status_code == 404
    assert client_as(keeper).post(reverse("tokens"), {"end": token.pk}).status_code == 302
    token.refresh_from_db()
    assert token.ended_at is not None


def test_a_token_has_its_share_of_a_minute(manager, monkeypatch):
    monkeypatch.setattr("collection.api.actions.tokens.MOST_A_MINUTE", 3)
    assert MOST_A_MINUTE == 300
    program = programme(manager)
    answers = [program.get("/me") for _ in range(5)]
    assert [answer.status_code for answer in answers] in ([200, 200, 200, 429, 429], [200] * 5)
    late = [answer for answer in answers if answer.status_code == 429]
    assert all(1 <= int(answer["Retry-After"]) <= 61 for answer in late)


def test_tokens_are_in_the_file_of_what_is_kept_and_go_with_the_person(client_as, manager, keeper):
    _, secret = token_for(keeper)
    facts = client_as(keeper).get(reverse("my_data")).content.decode()
    assert '"API tokens"' in facts
    digest = ApiToken.objects.get().digest
    assert digest not in facts
    from collection.people.actions.forgetting import forget_person

    forget_person(person=keeper, today=now().date())
    assert not ApiToken.objects.exists()
    assert Programme(secret).get("/me").status_code == 401


# reading


def test_names_need_their_scope(manager, car, worlds):
    bare, full = programme(manager, "read:cars", "read:log"), programme(manager)
    assert bare.get(f"/cars/{car.pk}").json()["owner"] == {"id": car.owner_id, "name": None}
    assert full.get(f"/cars/{car.pk}").json()["owner"]["name"] == "Ada Wren"
    assert all(entry["by"]["name"] is None for entry in bare.get("/entries").json()["items"])
    story = bare.get(f"/cars/{car.pk}/history")
    assert "Ada Wren" not in story.content.decode()
    assert "Keeper" not in story.content.decode()


def test_keys_are_in_no_answer(manager, car, worlds):
    write_car_notes(car, "Hook 4, blue safe")
    program = programme(manager)
    for name, method, path, _ in operations():
        if method == "get":
            assert b"Hook 4" not in ask(program, name, method, path, worlds["own"]).content, name


LISTS = (
    "/cars",
    "/duties",
    "/entries",
    "/readings",
    "/sites",
    "/buildings",
    "/bays",
    "/climates",
    "/owners",
    "/members",
    "/runs",
    "/statements",
    "/webhooks",
)
MOST_QUERIES = 9


def more_of_everything(program, barn, number):
    """A car with a reading, an owner, a bay, a member, an address."""
    one = make_car(
        barn, Owner.objects.create(organisation=barn, name=f"Owner {number}"), model=f"No {number}"
    )
    sent = {"kind": "battery_reading", "readings": [{"quantity": "rested_volts", "value": 12.5}]}
    assert program.post(f"/cars/{one.pk}/entries", sent).status_code == 201
    Bay.objects.create(building=Building.objects.first(), row="B", place=number + 1)
    make_person(f"member{number}@hollin.example", barn, "staff")
    refresh_organisation(barn.pk, today=TODAY, trigger="by hand")


def test_a_list_costs_the_same_queries_however_long(manager, barn, car):
    program, counts = programme(manager), []
    for numbers in (range(2), range(2, 10)):
        for number in numbers:
            more_of_everything(program, barn, number)
        program.get("/duties")  # what is old is recomputed once
        counts.append({})
        for path in LISTS:
            with CaptureQueriesContext(connection) as asked:
                answer = program.get(path)
            assert answer.status_code == 200, path
            counts[-1][path] = len(asked)
    assert counts[0] == counts[1]
    assert max(counts[0].values()) <= MOST_QUERIES, counts[0]


def test_a_list_comes_in_parts(manager, barn, car):
    for number in range(4):
        make_car(barn, car.owner, model=f"No {number}")
    program = programme(manager)
    first, rest = program.get("/cars", limit=3).json(), program.get("/cars", limit=3, offset=3).json()
    assert (first["total"], len(first["items"]), len(rest["items"])) == (5, 3, 2)
    assert len({one["id"] for one in first["items"] + rest["items"]}) == 5


def test_a_car_comes_with_its_record_in_si_units(manager, car):
    car.tyres.create(position="front_left", placard_kpa=220, date_code="3021")
    car.batteries.create(chemistry="agm", capacity_ah=70)
    body = programme(manager).get(f"/cars/{car.pk}").json()
    assert body["tyres"] == [{"position": "front_left", "date_code": "3021", "placard_kpa": 220}]
    assert body["battery"]["capacity_ah"] == 70
    assert body["stands"]["bay"] == "A1"
    assert body["engine"] is None
    assert body["fuel"] is None


def test_dates_reasons_and_curves_are_those_of_the_pages(client_as, manager, car):
    program = programme(manager)
    by_duty = {one["duty"]: one for one in program.get(f"/cars/{car.pk}/duties").json()}
    page = client_as(manager).get(reverse("why", args=[car.pk, "charge"])).context
    assert by_duty["charge"]["due_on"] == page["line"].due.isoformat()
    reason = program.get(f"/cars/{car.pk}/duties/charge").json()
    assert reason["summary"] == page["reason"].summary
    assert [step["worked"] for step in reason["steps"]] == [step.worked for step in page["reason"].steps]
    curve = program.get(f"/cars/{car.pk}/duties/charge/curve", back_days=10, ahead_days=20).json()
    assert len(curve["days"]) == len(curve["likely"]) == 31
    assert program.get(f"/cars/{car.pk}/duties/inspection/curve").status_code == 404


def test_the_proof_is_the_file_of_the_pages_and_verifies(manager, car, keeper):
    from collection.chain.verify import verify

    programme(keeper).post(f"/cars/{car.pk}/entries", {"kind": "note", "note": "x"})
    answer = programme(manager).get(f"/cars/{car.pk}/proof")
    assert verify(answer.content).faults == []


def test_an_unknown_address_is_told_in_the_same_form(manager):
    answer = programme(manager).get("/no/such/thing")
    assert answer.status_code == 404
    assert answer["Content-Type"] == "application/problem+json"


# the reference


def test_the_reference_says_every_operation_and_loads_nothing_from_elsewhere(client_as, viewer):
    page = client_as(viewer).get(reverse("api_docs")).content.decode()
    for name in IDS:
        assert f'id="{name}"' in page
    assert "<script" not in page.replace('<script src="/static/', "")
    assert 'style="' not in page


def test_the_description_is_read_without_a_token(db):
    answer = Client().get(reverse("openapi"))
    assert answer.json()["info"]["title"] == "Longstand"


def test_an_entry_written_here_is_signed_for_by_its_person(keeper, car):
    programme(keeper).post(f"/cars/{car.pk}/entries", {"kind": "note", "note": "x"}, key=str(uuid.uuid4()))
    assert Entry.objects.get().by == keeper


def test_a_member_has_no_more_tokens_than_they_can_look_after(manager, monkeypatch):
    monkeypatch.setattr("collection.api.actions.tokens.MOST_TOKENS", 1)
    token_for(manager)
    with pytest.raises(Exception, match="end one first"):
        make_token(
            membership=manager.memberships.get(), name="x", scopes=["read:cars"], expires_at=None, now=now()
        )

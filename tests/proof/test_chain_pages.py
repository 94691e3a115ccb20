"""The pages of proof: what each person sees, and files that stand the check."""

from types import SimpleNamespace

import pytest
from django.contrib.staticfiles import finders
from django.db import connection
from django.urls import reverse

from collection.care.actions.chain import chain_missing
from collection.chain.check_outside import NOBODY
from collection.chain.signing import fingerprint, public_key
from collection.chain.verify import AUTHORS, verify
from collection.host.installation_key import installation_key
from collection.models import Entry
from collection.models.append_only import UNIQUE, unguard
from collection.proof.actions import sign_statement
from tests.logbook import NOON, write


@pytest.fixture
def statement(barn, car, keeper):
    for number in range(3):
        write(car, keeper, "note", 9 - number, note=f"Day {number}")
    chain_missing()
    return sign_statement(organisation=barn, now=NOON)


def test_saved_history_and_saved_statement_stand_the_check(client_as, manager, car, statement):
    client, key = client_as(manager), fingerprint(public_key(installation_key()))
    history = client.get(reverse("proof", args=[car.pk]) + "?as=file")
    told = client.get(reverse("statement", args=[statement.pk]) + "?as=file")
    assert history["Content-Disposition"].startswith('attachment; filename="history-')
    verdict = verify(history.content, witnesses=[told.content], keys=[key])
    assert verdict.faults == []
    assert verdict.remarks == [
        NOBODY,
        "Claim to be more than 7 days older than the first signed statement over them: entries 1 to 2. "
        "Before that statement, the first of 2026-11-25, they are the keeper's word.",
        AUTHORS,
    ]
    assert len(verdict.history["entries"]) == 3


def test_the_proof_page_says_sound_and_names_key_and_entries(client_as, owner, car, statement):
    page = client_as(owner).get(reverse("proof", args=[car.pk])).content.decode()
    assert "<strong>Sound.</strong>" in page
    assert fingerprint(public_key(installation_key())) in page


def test_the_proof_page_says_what_was_changed(client_as, manager, car, statement):
    with connection.cursor() as cursor:
        unguard(SimpleNamespace(connection=connection, execute=lambda sql, _: cursor.execute(sql)), UNIQUE)
    Entry.objects.filter(link__seq=2).update(note="polished afterwards")
    page = client_as(manager).get(reverse("proof", args=[car.pk])).content.decode()
    assert "<strong>Not sound.</strong>" in page
    assert "Entry 2 (note of 2026-11-17) was edited" in page


def test_a_car_without_entries_has_nothing_to_prove(client_as, manager, car):
    page = client_as(manager).get(reverse("proof", args=[car.pk])).content.decode()
    assert "there is nothing to prove" in page
    assert "Sound." not in page


def test_statements_are_listed_for_managers_only(client_as, manager, owner, statement):
    url = reverse("trust")
    assert "Statement 1" in client_as(manager).get(url).content.decode()
    seen = client_as(owner).get(url).content.decode()
    assert "What it cannot prove" in seen
    assert "Statement 1" not in seen


def test_a_statement_on_paper_holds_all_that_its_check_needs(client_as, manager, car, statement):
    page = client_as(manager).get(reverse("statement", args=[statement.pk])).content.decode()
    link = car.chain.links.last()
    for needed in (statement.signature, statement.statement["root"], statement.statement["key"], link.digest):
        assert needed in page
    assert str(car) not in page


def test_a_statement_of_another_organisation_is_not_found(client_as, outsider, statement):
    assert client_as(outsider).get(reverse("statement", args=[statement.pk])).status_code == 404


@pytest.mark.parametrize("rows", [2, 20])
def test_the_list_of_statements_costs_the_same_however_long(
    client_as, manager, barn, django_assert_max_num_queries, rows
):
    for _ in range(rows):
        sign_statement(organisation=barn, now=NOON)
    client = client_as(manager)
    with django_assert_max_num_queries(7):
        assert client.get(reverse("trust")).content.count(b"Statement ") == rows


@pytest.mark.parametrize(
    "name",
    ["verify.html", "verify.css"]
    + [f"{name}.js" for name in ("form", "chain", "record", "statements", "stamps", "outside", "page")],
)
def test_the_checking_page_reaches_for_nothing_outside_its_folder(name):
    with open(finders.find(f"collection/verifier/{name}")) as file:
        source = file.read()
    assert "://" not in source
    assert "<script>" not in source
    assert " style=" not in source
    assert "fetch(" not in source

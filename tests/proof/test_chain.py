"""Every way of writing the log chains it; the database guards the chain; the key and the day's statement."""

import stat
from datetime import UTC, date, datetime, timedelta
from importlib import import_module
from types import SimpleNamespace

import pytest
import time_machine
from django.apps import apps
from django.core.exceptions import ImproperlyConfigured
from django.core.management import CommandError, call_command
from django.db import DatabaseError, IntegrityError, connection, transaction

from collection import tasks
from collection.care.actions.attachments import attach
from collection.care.actions.care import Measured, log_entry
from collection.care.actions.chain import chain_missing
from collection.care.actions.record import Edit, open_records
from collection.care.actions.settings import open_settings
from collection.care.attachments import Attached
from collection.chain.canonical import canonical
from collection.chain.check_outside import NOBODY
from collection.chain.signing import fingerprint, public_key
from collection.chain.verify import AUTHORS, verify
from collection.host.installation_key import installation_key
from collection.models import (
    Anchor,
    AnchoredHead,
    Attachment,
    BroughtStatement,
    Chain,
    Entry,
    Evidence,
    Link,
    Pseudonym,
    RecordEntry,
    SettingEntry,
)
from collection.models.append_only import TRIGGERS, UNIQUE, unguard
from collection.proof.actions import export_history, sign_statement
from collection.proof.queries import statement_file
from collection.recommission.actions.evidence import save_evidence
from tests.logbook import write
from tests.proof.chain_files import seeded

NOW = datetime(2026, 11, 25, 12, tzinfo=UTC)


@pytest.fixture(autouse=True)
def data_folder(settings, tmp_path):
    settings.DATA_DIR = tmp_path
    return tmp_path


@pytest.fixture
def charge(car, keeper):
    def log(number, **values):
        when = NOW - timedelta(hours=48 - number)
        facts = {
            "readings": [Measured("rested_volts", 12.4), Measured("specific_gravity", 1.26, "1")]
        } | values
        return log_entry(
            vehicle=car,
            kind="charge",
            done_at=when,
            by=keeper,
            idempotency_key=f"k{number}",
            now=when,
            details={"completed": True, "hours": 7},
            **facts,
        ).entry

    return log


def is_sound(car):
    verdict = verify(export_history(car, now=NOW))
    return verdict.sound and len(verdict.history["entries"]) == car.entries.count()


def test_a_logged_entry_stands_in_its_cars_chain_at_once(car, charge):
    entries = [charge(number) for number in range(3)]
    charge(2)  # sent twice
    links = list(car.chain.links.order_by("seq"))
    assert [(link.seq, link.entry_id) for link in links] == [(n + 1, e.pk) for n, e in enumerate(entries)]
    assert is_sound(car)


def test_a_correction_is_chained_like_any_entry(car, charge):
    first = charge(0)
    second = charge(1, corrects=first, readings=[])
    assert car.chain.links.get(seq=2).entry == second
    assert is_sound(car)


def test_an_entry_that_cannot_be_chained_is_not_stored(car, charge, monkeypatch):
    def fail(entry):
        raise DatabaseError("the disk is full")

    monkeypatch.setattr("collection.care.actions.care.chain_entry", fail)
    with pytest.raises(DatabaseError, match="disk is full"):
        charge(0)
    assert not Entry.objects.exists()


def test_the_chain_holds_a_pseudonym_and_never_the_name(car, charge, keeper):
    charge(0)
    history = verify(export_history(car, now=NOW)).history
    token = str(keeper.pseudonym.token)
    assert history["entries"][0]["by"] == token
    assert history["people"] == {token: keeper.name}
    chained = canonical({"links": history["links"], "entries": history["entries"]}).decode()
    assert keeper.name not in chained
    assert keeper.email not in chained


def test_a_person_whose_name_is_forgotten_leaves_the_chain_sound(car, barn, charge, keeper):
    charge(0)
    sign_statement(organisation=barn, now=NOW)
    keeper.name, keeper.email = "", "forgotten@nowhere.example"
    keeper.save()
    assert is_sound(car)


def test_what_a_bulk_loader_left_is_chained_in_the_order_of_recording(car, neighbour_car, keeper, charge):
    rng = seeded(3)
    for number in rng.sample(range(20), 12):
        write(rng.choice([car, neighbour_car]), keeper, "note", number + 5, note="from the old book")
    assert chain_missing() == 12
    assert chain_missing() == 0
    for each in (car, neighbour_car):
        recorded = list(each.chain.links.order_by("seq").values_list("entry__recorded_at", flat=True))
        assert recorded == sorted(recorded)
        assert is_sound(each)
    charge(0)
    assert is_sound(car)


def test_the_migration_chains_what_stood_before_there_were_chains(car, neighbour_car, keeper):
    old = write(car, keeper, "charge", 9, readings=[{"quantity": "rested_volts", "value": 12.25}] * 2)
    write(car, keeper, "charge", 9, corrects=old, details={"completed": False})
    write(neighbour_car, keeper, "note", 3, note="dry")
    migration = import_module("collection.migrations.0004_chain_what_stands")
    migration.chain_what_stands(apps, SimpleNamespace(connection=connection))
    assert next(link.entry_id for link in car.chain.links.order_by("seq")) == old.pk
    assert Link.objects.count() == 3
    assert is_sound(car)
    assert is_sound(neighbour_car)


# the database


GROWS_ONLY = [
    Attachment,
    Evidence,
    RecordEntry,
    SettingEntry,
    Pseudonym,
    Chain,
    Link,
    Anchor,
    AnchoredHead,
    BroughtStatement,
]


@pytest.fixture
def full(car, barn, charge):
    attach(charge(0), [Attached("Tyre.jpg", "image/jpeg", b"a picture")])
    charge(1)
    open_records([car], Edit(None, NOW))
    open_settings(barn, Edit(None, NOW))
    sign_statement(organisation=barn, now=NOW)
    find = Evidence(vehicle=car, kind="receipt", on=date(2019, 6, 1))
    save_evidence(row=find, by=car.entries.first().by, key="find-one", now=NOW)
    BroughtStatement.objects.create(
        chain=car.chain, seq=1, statement={"form": "from elsewhere"}, signature="0", place=0
    )


@pytest.mark.parametrize("model", GROWS_ONLY)
def test_the_database_refuses_to_change_or_delete_what_proves_the_log(full, model):
    table, before = model._meta.db_table, list(model.objects.order_by("pk").values())
    assert before
    for statement in (f"DELETE FROM {table}", f"UPDATE {table} SET id = id"):  # noqa: S608 - our own names
        with (
            pytest.raises(DatabaseError, match="only grows"),
            transaction.atomic(),
            connection.cursor() as cursor,
        ):
            cursor.execute(statement)
    assert list(model.objects.order_by("pk").values()) == before


@pytest.mark.parametrize("table", UNIQUE)
def test_no_row_is_replaced_or_swept_away_by_the_back_door(full, table):
    """SQLite's REPLACE deletes without asking the DELETE trigger; PostgreSQL's TRUNCATE does too."""
    with connection.cursor() as cursor:
        cursor.execute(f"SELECT * FROM {table} LIMIT 1")  # noqa: S608 - our own names
        row = cursor.fetchone()
        marks = ", ".join(["%s"] * len(row))
        replace = f"INSERT OR REPLACE INTO {table} VALUES ({marks})", row  # noqa: S608
        connection.check_constraints()  # PostgreSQL empties no table with checks still to come
        attempt = {"sqlite": replace, "postgresql": (f"TRUNCATE {table} CASCADE",)}[connection.vendor]
        with pytest.raises(DatabaseError, match="only grows"), transaction.atomic():
            cursor.execute(*attempt)


def test_every_guard_still_stands_after_the_last_migration(db):
    with connection.cursor() as cursor:
        if connection.vendor == "sqlite":
            cursor.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'")
        else:
            cursor.execute("SELECT tgname FROM pg_trigger WHERE NOT tgisinternal")
        standing = {name for (name,) in cursor.fetchall()}
    wanted = {name for table in UNIQUE for name in TRIGGERS[connection.vendor](table)}
    assert wanted <= standing, "a migration rebuilt a table: call models.append_only.guard for it again"
    assert len(wanted) == 3 * len(UNIQUE)


def test_two_writers_cannot_take_one_place_in_a_chain(car, charge):
    charge(0)
    first = car.chain.links.get()
    entry = write(car, first.entry.by, "note", 1, note="at the same moment")
    with connection.cursor() as cursor:  # the constraint itself must refuse it, not only our trigger
        unguard(SimpleNamespace(connection=connection, execute=lambda sql, _: cursor.execute(sql)), UNIQUE)
    with pytest.raises(IntegrityError), transaction.atomic():
        Link.objects.create(
            chain=first.chain, seq=1, entry=entry, previous="", car={}, written="", measured="", digest=""
        )


# the key and the day's statement


def test_the_key_is_made_once_and_is_for_its_owner_only(data_folder):
    first, second = installation_key(), installation_key()
    (file,) = data_folder.iterdir()
    assert stat.S_IMODE(file.stat().st_mode) == 0o600
    assert public_key(first) == public_key(second)


@pytest.mark.parametrize("content", [b"", b"scribble"])
def test_a_spoilt_key_is_named_and_never_silently_replaced(data_folder, content):
    (data_folder / "signing-key.pem").write_bytes(content)
    with pytest.raises(ImproperlyConfigured, match=r"signing-key\.pem in LONGSTAND_DATA holds no key"):
        installation_key()
    assert (data_folder / "signing-key.pem").read_bytes() == content


def test_each_organisation_gets_its_statement_once_a_day(barn, other_barn, car, foreign_car, keeper, charge):
    charge(0)
    with time_machine.travel(NOW, tick=False):
        tasks.sign_statements()
        tasks.sign_statements()
    assert [anchor.organisation for anchor in Anchor.objects.all()] == [barn], "the other has no chain yet"
    with time_machine.travel(NOW + timedelta(days=1), tick=False):
        tasks.sign_statements()
    assert [(anchor.number, anchor.heads.count()) for anchor in barn.anchors.order_by("number")] == [
        (1, 1),
        (2, 0),
    ]
    assert is_sound(car)


def test_a_statement_tells_nothing_of_other_organisations(
    barn, other_barn, car, foreign_car, keeper, outsider
):
    write(car, keeper, "note", 2, note="ours")
    write(foreign_car, outsider, "note", 2, note="theirs")
    chain_missing()
    told = statement_file(sign_statement(organisation=barn, now=NOW))
    assert [head["chain"] for head in told["heads"]] == [str(car.chain.pk)]


def test_every_car_of_a_large_statement_proves_its_place(barn, car, keeper):
    from tests.barn import make_car

    cars = [make_car(barn, car.owner, model=f"No {number}") for number in range(37)]
    for each in cars:
        write(each, keeper, "note", 2, note="dry")
    chain_missing()
    anchor = sign_statement(organisation=barn, now=NOW)
    assert anchor.heads.count() == 37
    for each in cars:
        verdict = verify(export_history(each, now=NOW), witnesses=[canonical(statement_file(anchor))])
        assert (verdict.faults, verdict.remarks) == ([], [NOBODY, AUTHORS])


# the command


def test_the_command_says_sound_and_names_the_key(car, barn, charge, tmp_path, capsys):
    charge(0)
    sign_statement(organisation=barn, now=NOW)
    file = tmp_path / "history.json"
    file.write_bytes(export_history(car, now=NOW))
    key = fingerprint(public_key(installation_key()))
    call_command("verify_history", str(file), "--key", key, "--against", str(file))
    said = capsys.readouterr().out
    assert key in said
    assert str(car) in said
    assert said.endswith("Sound: nothing was changed since it was signed.\n")


def test_the_command_fails_and_says_which_entry_and_how(car, charge, tmp_path, capsys):
    charge(0)
    file = tmp_path / "history.json"
    file.write_bytes(export_history(car, now=NOW).replace(b'"hours":7', b'"hours":8'))
    with pytest.raises(SystemExit) as end:
        call_command("verify_history", str(file))
    assert end.value.code == 1
    said = capsys.readouterr().out
    assert "FAULT (an entry was edited). Entry 1 (charge of 2026-11-23)" in said
    assert said.endswith("NOT SOUND.\n")


@pytest.mark.parametrize("arguments", [(), ("nowhere.json",), ("file", "--database")])
def test_the_command_says_what_it_needs(db, arguments):
    with pytest.raises(CommandError):
        call_command("verify_history", *arguments)

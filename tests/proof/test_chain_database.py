"""A history changed straight in the database, with the guards taken away, is found out, each time."""

import uuid
from datetime import UTC, datetime, timedelta
from itertools import cycle, islice, pairwise
from types import SimpleNamespace

import pytest
from django.core.management import call_command
from django.db import connection, transaction
from django.db.models import Max

from collection.care.actions.chain import chain_missing
from collection.chain.check_series import check_series
from collection.chain.links import NOTHING_BEFORE, entry_facts, next_link
from collection.chain.verify import verify
from collection.models import Anchor, AnchoredHead, Chain, Entry, Link, Pseudonym, Reading
from collection.models.append_only import UNIQUE, unguard
from collection.proof.actions import export_history, sign_statement
from collection.proof.queries import lost_chains, series
from tests.logbook import write
from tests.proof.chain_files import TAMPERINGS, seeded

NOW = datetime(2026, 11, 25, 12, tzinfo=UTC)


@pytest.fixture(autouse=True)
def data_folder(settings, tmp_path):
    settings.DATA_DIR = tmp_path


@pytest.fixture
def logged(barn, car, neighbour_car, keeper, manager):
    """Two cars with nine entries each, a statement after the first six and one at the end."""
    rng = seeded(7)
    for first, last in ((30, 18), (16, 12)):
        for ago in range(first, last, -2):
            for each in (car, neighbour_car):
                readings = [{"quantity": "rested_volts", "value": 12.1 + rng.random() / 2, "rest_hours": 12}]
                write(
                    each,
                    rng.choice([keeper, manager]),
                    rng.choice(["charge", "inspected"]),
                    ago,
                    readings=readings * rng.randint(0, 2),
                    details={"ok": True, "hours": ago},
                    note=f"Day {ago}",
                )
        chain_missing()
        sign_statement(organisation=barn, now=NOW - timedelta(days=last))
    return [car, neighbour_car]


@pytest.fixture
def unguarded(logged):
    with connection.cursor() as cursor:
        unguard(SimpleNamespace(connection=connection, execute=lambda sql, _: cursor.execute(sql)), UNIQUE)
    return logged


def found(cars):
    """Every fault that the database's own check finds: of each car, of the statements, of lost chains."""
    faults = [fault for car in cars for fault in verify(export_history(car, now=NOW)).faults]
    faults += [fault for files in series() for fault in check_series(files)]
    return faults + lost_chains()


def rows(model, **which):
    return model.objects.filter(**which).order_by("pk")


def swap(model, one, two, field):
    """Exchange a column of two rows, around whatever must stay unique."""
    first, second = (model.objects.filter(pk=row.pk) for row in (one, two))
    mine, theirs = getattr(one, field), getattr(two, field)
    aside = uuid.uuid4() if isinstance(mine, uuid.UUID) else 999_999
    first.update(**{field: aside})
    second.update(**{field: mine})
    first.update(**{field: theirs})


def edit_entry(rng, _cars):
    entry = rng.choice(rows(Entry))
    others = Entry.objects.exclude(by=entry.by_id)
    change = rng.choice(
        [
            {"note": entry.note + " "},
            {"kind": "note"},
            {"done_at": entry.done_at + timedelta(microseconds=1)},
            {"recorded_at": entry.recorded_at - timedelta(days=rng.randint(1, 300))},
            {"details": {}},
            {"details": entry.details | {"hours": entry.details["hours"] + 1e-9}},
            {"by": rng.choice(others).by_id},
            {"idempotency_key": str(uuid.uuid4())},
            {"corrects": rng.choice(rows(Entry).exclude(pk=entry.pk))},
        ]
    )
    rows(Entry, pk=entry.pk).update(**change)
    return {"edited"}


def edit_reading(rng, _cars):
    reading = rng.choice(rows(Reading))
    change = rng.choice(
        [
            {"value": reading.value + rng.choice([0.1, -1e-9])},
            {"quantity": "charging_volts"},
            {"position": "1"},
            {"temperature_c": 20},
            {"rest_hours": None},
        ]
    )
    rows(Reading, pk=reading.pk).update(**change)
    return {"readings"}


def delete_reading(rng, _cars):
    rows(Reading, pk=rng.choice(rows(Reading)).pk)._raw_delete("default")
    return {"readings"}


def insert_reading(rng, _cars):
    Reading.objects.create(entry=rng.choice(rows(Entry)), quantity="rested_volts", value=12.8)
    return {"readings"}


def move_reading(rng, _cars):
    reading = rng.choice(rows(Reading))
    rows(Reading, pk=reading.pk).update(entry=rng.choice(rows(Entry).exclude(pk=reading.entry_id)))
    return {"readings"}


def delete_entry(rng, _cars):
    """The entry alone, or its link too; from the middle or the end."""
    entry, also_link = rng.choice(rows(Entry)), rng.random() < 0.5
    rows(Reading, entry=entry)._raw_delete("default")
    if also_link:
        rows(Link, entry=entry)._raw_delete("default")
    rows(Entry, pk=entry.pk)._raw_delete("default")
    return {"deleted"}


def cut_the_end(rng, cars):
    """The newest entries with links and what the statements keep of them."""
    chain = rng.choice(cars).chain
    last = chain.links.aggregate(last=Max("seq"))["last"] - rng.randint(1, 5)
    gone = list(chain.links.filter(seq__gt=last).values_list("entry", flat=True))
    rows(AnchoredHead, chain=chain, seq__gt=last)._raw_delete("default")
    rows(Link, chain=chain, seq__gt=last)._raw_delete("default")
    rows(Reading, entry__in=gone)._raw_delete("default")
    rows(Entry, pk__in=gone)._raw_delete("default")
    return {"anchor"}


def swap_links(rng, cars):
    one, two = rng.sample(list(rng.choice(cars).chain.links.all()), 2)
    swap(Link, one, two, rng.choice(["seq", "entry_id"]))
    return {"reordered"}


def swap_cars(_rng, cars):
    swap(Chain, cars[0].chain, cars[1].chain, "vehicle_id")
    return {"inserted", "deleted"}


def move_entry(rng, cars):
    entry = rng.choice(rows(Entry, vehicle=cars[0]))
    rows(Entry, pk=entry.pk).update(vehicle=cars[1])
    return {"inserted", "deleted"}


def insert_entry(rng, cars):
    write(rng.choice(cars), Entry.objects.first().by, "note", rng.randint(1, 40), note="Charged, honestly")
    return {"inserted"}


def append_backdated(rng, cars):
    """Put in and chained as the site itself would, but with a day long gone."""
    write(rng.choice(cars), Entry.objects.first().by, "note", rng.randint(14, 40), note="Charged, honestly")
    chain_missing()
    return {"backdated"}


def rewrite(rng, cars):
    """An edit, and every digest from there on made to fit."""
    car = rng.choice(cars)
    entry = rng.choice(rows(Entry, vehicle=car))
    rows(Entry, pk=entry.pk).update(note="polished afterwards")
    previous = NOTHING_BEFORE
    for link in car.chain.links.select_related("entry").order_by("seq"):
        by = str(Pseudonym.objects.get(person=link.entry.by_id).token)
        said = entry_facts(link.entry, by=by, readings=list(link.entry.readings.order_by("pk")))
        made = next_link(str(link.chain_id), said, car=link.car, seq=link.seq, previous=previous)
        rows(Link, pk=link.pk).update(**made | {"entry": link.entry_id})
        previous = made["digest"]
    assert not [fault for fault in verify(export_history(car, now=NOW)).faults if fault.kind != "anchor"]
    return {"anchor"}


def edit_link(rng, _cars):
    link = rng.choice(rows(Link))
    name = rng.choice(["previous", "written", "measured", "digest", "car", "seq"])
    other = link.car | {"chassis_number": "other"} if name == "car" else "ab" * 32
    rows(Link, pk=link.pk).update(**{name: 77 if name == "seq" else other})
    return {"link", "deleted"}


def edit_statement(rng, _cars):
    anchor = rng.choice(rows(Anchor))
    name = rng.choice(["root", "chains", "at", "by", "number", "previous", "key"])
    other = {"chains": 9, "number": 9, "at": "2026-11-01T00:00:00.000000Z"}.get(name, "cd" * 32)
    rows(Anchor, pk=anchor.pk).update(statement=anchor.statement | {name: other})
    return {"anchor"}


def edit_head(rng, _cars):
    head = rng.choice(rows(AnchoredHead))
    change = rng.choice([{"seq": head.seq - 1}, {"head": "ab" * 32}, {"place": 7}])
    rows(AnchoredHead, pk=head.pk).update(**change)
    return {"anchor"}


def delete_statement(_rng, _cars):
    anchor = rows(Anchor).first()
    rows(AnchoredHead, anchor=anchor)._raw_delete("default")
    rows(Anchor, pk=anchor.pk)._raw_delete("default")
    return {"anchor"}


def another_pseudonym(rng, _cars):
    rows(Pseudonym, pk=rng.choice(rows(Pseudonym)).pk).update(token=uuid.uuid4())
    return {"edited"}


WAYS = [
    edit_entry,
    edit_entry,
    edit_reading,
    delete_reading,
    insert_reading,
    move_reading,
    delete_entry,
    delete_entry,
    cut_the_end,
    swap_links,
    swap_links,
    swap_cars,
    move_entry,
    insert_entry,
    append_backdated,
    rewrite,
    edit_link,
    edit_statement,
    edit_head,
    delete_statement,
    another_pseudonym,
]


def test_random_changes_in_the_database_are_all_found_and_called_what_they_are(unguarded):
    assert found(unguarded) == []
    rng, missed, done = seeded(1904), [], set()
    for tamper in islice(cycle(WAYS), max(TAMPERINGS, len(WAYS))):
        with transaction.atomic():
            expected = tamper(rng, unguarded)
            kinds = {getattr(fault, "kind", "deleted") for fault in found(unguarded)}
            if not kinds & expected:
                missed.append((tamper.__name__, kinds))
            transaction.set_rollback(True)
        done.add(tamper.__name__)
    assert missed == []
    assert done == {tamper.__name__ for tamper in WAYS}
    assert found(unguarded) == []


def test_the_fault_names_the_entry(unguarded):
    link = unguarded[0].chain.links.get(seq=4)
    rows(Entry, pk=link.entry_id).update(note="other")
    kinds = [(fault.kind, fault.seq) for fault in verify(export_history(unguarded[0], now=NOW)).faults]
    assert kinds == [("edited", 4)]


def test_a_car_taken_out_whole_is_missed(unguarded):
    chain = unguarded[0].chain
    entries = list(chain.links.values_list("entry", flat=True))
    with transaction.atomic():
        rows(Link, chain=chain)._raw_delete("default")
        rows(Chain, pk=chain.pk)._raw_delete("default")
        rows(Reading, entry__in=entries)._raw_delete("default")
        rows(Entry, pk__in=entries)._raw_delete("default")
        assert lost_chains() == [str(chain.pk)]
        transaction.set_rollback(True)


def test_the_command_checks_the_whole_database(unguarded, capsys):
    call_command("verify_history", "--database")
    assert "Cars checked: 2, with faults: 0." in capsys.readouterr().out
    rows(Entry, vehicle=unguarded[0]).update(note="other")
    with pytest.raises(SystemExit) as end:
        call_command("verify_history", "--database")
    assert end.value.code == 1
    said = capsys.readouterr().out
    assert "FAULT (an entry was edited)" in said
    assert "Cars checked: 2, with faults: 1." in said


def test_every_column_of_an_entry_and_a_reading_is_covered(logged):
    """A column added later must be chained too, or be named here with its reason."""
    elsewhere = {"vehicle": "by the chain itself", "idempotency_key": "as key", "corrects": "by its key"}
    (entry, *_) = rows(Entry)
    said = entry_facts(entry, by="someone", readings=[Reading(entry=entry)])
    columns = {field.name for field in Entry._meta.fields} - elsewhere.keys()
    assert columns <= said.keys()
    assert {field.name for field in Reading._meta.fields} - {"id", "entry"} == set(said["readings"][0])


def test_links_follow_one_another(logged):
    for car in logged:
        links = list(car.chain.links.order_by("seq"))
        assert [link.seq for link in links] == list(range(1, len(links) + 1))
        assert all(after.previous == before.digest for before, after in pairwise(links))

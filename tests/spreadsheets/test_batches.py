"""A batch is a thing: stated once in the organisation's chain, folded to a line, gone when taken back."""

from datetime import date

import pytest

from collection.care.actions.care import log_entry
from collection.care.queries.batches import log_page
from collection.chain.verify import verify
from collection.history import EVERYTHING, tell
from collection.history.paper import paper
from collection.models import Chain, Owner, SettingEntry, Vehicle
from collection.proof.actions import export_history, export_settings
from tests.spreadsheets.tables_of import NOW, bring_in, step

pytestmark = pytest.mark.django_db
LOG = [["Reg", "Date", "Volts", "Remarks"]] + [
    ["HB 1", f"2026-0{n}-03", "12.5", "" if n % 2 else "seen"] for n in range(1, 7)
]
CARS = [["Make", "Model", "Owner"], ["Ostler", "Nine", "Ada Wren"], ["Calder", "GT", "Ada Wren"]]


@pytest.fixture
def hb(car):
    car.registration = "HB 1"
    car.save()
    return car


def statements():
    said = {}
    for entry in SettingEntry.objects.filter(chain__subject="organisation").order_by("link__seq"):
        said |= {
            name.rpartition(".")[2]: fact["now"]
            for name, fact in entry.facts.items()
            if name.startswith("batch.")
        }
    return said


def sound(barn):
    chain = Chain.objects.get(organisation=barn, subject="organisation")
    return verify(export_settings(chain, now=NOW))


def test_what_comes_in_and_goes_is_one_statement_each_in_the_chain_of_the_organisation(barn, keeper, hb):
    row = bring_in(barn, keeper, "log", LOG)
    assert statements().keys() == {"brought_in"}
    assert statements()["brought_in"].startswith("care log, entries: 6, SHA-256 ")
    step(row, "undo")
    assert statements()["taken_back"].startswith("care log, entries: 6, SHA-256 ")
    assert statements()["taken_back"].rpartition(" ")[2] != statements()["brought_in"].rpartition(" ")[2]
    assert sound(barn).sound
    assert verify(export_history(hb, now=NOW)).sound


def test_a_statement_that_somebody_changes_is_found(barn, keeper, hb):
    row = bring_in(barn, keeper, "log", LOG)
    type(row).objects.update(brought_in=row.brought_in.replace("6", "7", 1))
    assert not sound(barn).sound


def test_a_history_folds_what_a_table_brought_and_what_took_it_back_to_a_line(barn, keeper, hb, client_as):
    log_entry(vehicle=hb, kind="note", note="washed", done_at=NOW, by=keeper, idempotency_key="own", now=NOW)
    row = bring_in(barn, keeper, "log", LOG)
    [own, batch] = log_page(hb, page=None, at_once=5)
    assert (own.kind, batch.count, batch.taken_back, batch.name) == ("note", 6, 0, "table.csv")
    page = client_as(keeper).get(f"/cars/{hb.pk}/").content.decode()
    assert "<strong>6 entries</strong> of Sat 3 Jan 2026 to\nWed 3 Jun 2026" in page
    shown = log_page(hb, page=None, at_once=50, table=row.pk.hex)
    assert shown.paginator.count == 6
    story = tell(hb, today=NOW.date(), units="metric", scope=EVERYTHING)
    assert [len(getattr(line, "doings", ())) for line in story.lines] == [0, 6]
    assert len(paper(story)["doings"]) == 7
    step(row, "undo")
    [_, batch] = log_page(hb, page=None, at_once=5)
    assert (batch.count, batch.taken_back) == (6, 6)
    story = tell(hb, today=NOW.date(), units="metric", scope=EVERYTHING)
    assert len(story.doings) == 13
    assert [len(getattr(line, "doings", ())) for line in story.lines] == [0, 12]
    assert len(paper(story)["doings"]) == 2
    assert (
        "taken back on Wed 25 Nov 2026" in client_as(keeper).get(f"/cars/{hb.pk}/history/").content.decode()
    )


def test_a_few_entries_of_a_table_stand_in_the_log_as_they_are(barn, keeper, hb):
    bring_in(barn, keeper, "log", LOG[:4])
    assert [line.kind for line in log_page(hb, page=None, at_once=5)] == ["battery_reading"] * 3


def test_cars_brought_in_by_mistake_vanish_when_taken_back_untouched(barn, manager, owner, client_as):
    Owner.objects.create(organisation=barn, name="Ada Wren", person=owner)
    row = bring_in(barn, manager, "cars", CARS)
    nine, gt = Vehicle.objects.order_by("-model")
    log_entry(vehicle=gt, kind="note", note="washed", done_at=NOW, by=manager, idempotency_key="own", now=NOW)
    step(row, "undo")
    assert (row.undone["taken_off"], len(row.undone["kept"])) == (1, 1)
    assert statements()["taken_back"].startswith("cars: 1, SHA-256 ")
    nine.refresh_from_db()
    assert (nine.taken_back_on, nine.entries.count()) == (date(2026, 11, 25), 0)
    for person in (manager, owner):
        client = client_as(person)
        assert client.get(f"/cars/{nine.pk}/").status_code == 404
        assert "Ostler Nine" not in client.get("/cars/?state=left").content.decode()
        assert client.get(f"/cars/{gt.pk}/").status_code == 200
    assert verify(export_history(nine, now=NOW)).sound
    again = bring_in(barn, manager, "cars", CARS)
    assert again.result["counts"]["cars"] == 1

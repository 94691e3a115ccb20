"""A care log out of a table: what rows become, what is refused, all or nothing, taken back."""

from datetime import UTC, datetime

import pytest
from django.db import transaction

from collection.care.actions.care import log_entry
from collection.care.draft import Measured
from collection.chain.verify import verify
from collection.life.queries import local_day
from collection.life.refresh import refresh_vehicles
from collection.models import Entry, Reading, SheetImport
from collection.models.care import effective
from collection.proof.actions import export_history
from collection.spreadsheets.actions import jobs, log_store
from collection.spreadsheets.actions.bringing import read_table
from collection.spreadsheets.actions.incoming import Answer, answer, set_mapping
from collection.spreadsheets.sheets.mapping import Mapping, Use
from collection.spreadsheets.sheets.shaping import Shape
from tests.barn import make_car
from tests.spreadsheets.tables_of import NOW, bring_in, clock, send, step

pytestmark = pytest.mark.django_db
WEEKLY = [
    ["Hollin Barn – weekly checks 2026"],
    [],
    ["Reg", "Date", "Volts", "FL (psi)", "FR (psi)", "RL (psi)", "RR (psi)", "Remarks", "Who"],
    ["HB 62 A", "31/10/2026", "12.61", "26", "26", "28 psi", "2 bar", "all well", "J. Marsh"],
    [],
    ["hb62a", "07/11/2026", "12,4 V", "25", "25.5", "27", "27", "", ""],
]


@pytest.fixture
def plated(car):
    car.registration = "HB62 A"
    car.save()
    return car


def entries_of(car):
    return list(effective(car.entries.all()).order_by("done_at", "kind"))


def test_a_weekly_sheet_becomes_readings_each_of_its_kind_in_si(barn, keeper, plated):
    row = bring_in(barn, keeper, "log", WEEKLY)
    assert row.result["entries"] == 4
    battery, tyres, later, _ = entries_of(plated)
    assert (battery.kind, battery.done_at) == ("battery_reading", datetime(2026, 10, 31, 12, tzinfo=UTC))
    assert battery.readings.get().value == 12.61
    assert "all well" in battery.note
    assert "J. Marsh" in battery.note
    assert tyres.kind == "tyre_pressures"
    pressures = {it.position: round(it.value, 2) for it in tyres.readings.all()}
    assert pressures == {
        "front_left": 179.26,
        "front_right": 179.26,
        "rear_left": 193.05,
        "rear_right": 200.0,
    }
    assert later.readings.get().value == 12.4
    assert later.by == keeper


def test_what_comes_in_and_is_taken_back_moves_dates_that_were_fresh(barn, keeper, plated):
    def charge():
        return plated.duties.get(duty="charge").due

    today = local_day(barn, NOW)
    refresh_vehicles([plated.pk], today=today)
    before, duties = charge(), plated.duties.count()
    rows = [["Registration", "Date", "Work", "Charged in full"], ["HB62A", "20/11/2026", "charge", "yes"]]
    row = bring_in(barn, keeper, "log", rows)
    assert row.result["entries"] == 1
    assert charge() > before
    assert plated.duties.count() == duties
    step(row, "undo")
    assert charge() == before
    assert plated.duties.count() == duties


def test_what_came_in_stands_on_the_chain(barn, keeper, plated):
    bring_in(barn, keeper, "log", WEEKLY)
    assert verify(export_history(plated, now=NOW)).sound


def test_an_american_reads_fahrenheit_and_gallons_where_the_heading_is_silent(barn, keeper, plated):
    keeper.units = "american"
    keeper.save()
    rows = [
        ["Registration", "Date", "Work", "Fuel added", "Freeze point", "Temp"],
        ["HB62A", "10/31/2026", "fuel added", "2", "", ""],
        ["HB62A", "10/31/2026", "fluid check", "", "-34", "68"],
    ]
    bring_in(barn, keeper, "log", rows)
    fluid, fuel = sorted(entries_of(plated), key=lambda entry: entry.kind)
    assert round(fuel.details["litres"], 3) == 7.571
    reading = fluid.readings.get()
    assert (round(reading.value, 2), round(reading.temperature_c, 6)) == (-36.67, 20)


def test_words_for_work_are_understood(barn, keeper, plated):
    rows = [
        ["Car", "When", "Work done", "Minutes"],
        ["Wendlow Twelve", "2026-10-01", "Oil change", ""],
        ["1962 Wendlow Twelve", "2026-10-02", "Run up", "25"],
        ["Twelve", "2026-10-03", "Inspectd", ""],
    ]
    bring_in(barn, keeper, "log", rows)
    oil, run, seen = entries_of(plated)
    assert (oil.kind, oil.details) == ("fluid_changed", {"fluid": "engine_oil"})
    assert run.details == {"minutes": 25.0, "reached_temperature": False, "driven": False}
    assert seen.details == {"ok": True}


def test_each_fault_names_its_row_its_field_and_the_fix_and_nothing_is_stored(barn, keeper, plated):
    rows = [
        ["Reg", "Date", "Volts", "Minutes"],
        ["HB62A", "2026-10-01", "99", ""],
        ["HB62A", "soon", "12", ""],
        ["ZZ 1", "2026-10-01", "12", ""],
        ["HB62A", "2027-10-01", "", "20"],
        ["HB62A", "2026-10-01", "flat", ""],
    ]
    row = step(send(barn, keeper, "log", rows), "check")
    told = {(it["row"], it["field"]) for it in row.report["faults"]}
    assert told == {(2, "Rested volts"), (3, "Done at"), (4, "Car"), (5, "Done at"), (6, "Rested volts")}
    assert "14.4" in next(it["text"] for it in row.report["faults"] if it["row"] == 2)  # its own 12 V limit
    step(row, "import")
    assert Entry.objects.count() == 0
    assert row.state == "checked"


def test_a_name_that_fits_two_cars_is_asked_and_the_answer_holds(barn, keeper, plated):
    twin = make_car(barn, plated.owner, registration="HB 63 B")
    rows = [["Car", "Date", "Volts"], ["Wendlow Twelve", "2026-10-01", "12.5"]]
    row = step(send(barn, keeper, "log", rows), "check")
    (asked,) = row.report["asked"]
    assert (asked["field"], asked["text"], asked["rows"]) == ("car", "Wendlow Twelve", 1)
    assert asked["fits"] == sorted([plated.pk, twin.pk])
    assert "HB 63 B" in row.report["faults"][0]["text"]
    answer(row=row, answers=[Answer("car", "Wendlow Twelve", str(twin.pk))])
    step(row, "check")
    step(row, "import")
    assert [entry.vehicle for entry in Entry.objects.all()] == [twin]


def test_dates_that_can_be_read_both_ways_are_asked(barn, keeper, plated):
    row = send(barn, keeper, "log", [["Reg", "Date", "Volts"], ["HB62A", "03/04/2026", "12.5"]])
    assert {use["order"] for use in row.mapping["columns"].values() if use["field"] == "done_at"} == {"ask"}


def test_one_row_that_says_day_first_decides_the_column(barn, keeper, plated):
    rows = [["Reg", "Date", "Volts"], ["HB62A", "03/04/2026", "12.5"], ["HB62A", "13/04/2026", "12.4"]]
    bring_in(barn, keeper, "log", rows)
    assert [entry.done_at.month for entry in entries_of(plated)] == [4, 4]


def test_a_table_sent_twice_adds_nothing(barn, keeper, plated):
    bring_in(barn, keeper, "log", WEEKLY)
    row = step(send(barn, keeper, "log", WEEKLY), "check")
    assert row.report["counts"]["left_out"] == 4
    assert "entries" not in row.report["counts"]


def test_a_step_pressed_twice_is_done_once(barn, keeper, plated):
    row = bring_in(barn, keeper, "log", WEEKLY)
    assert not jobs.start(row=row, step="import", by=keeper, clock=clock)
    assert Entry.objects.count() == 4


def test_a_job_that_breaks_in_the_middle_leaves_nothing_and_can_be_started_again(
    barn, keeper, plated, monkeypatch
):
    row = step(send(barn, keeper, "log", WEEKLY), "check")
    real, made = log_store._entry, []

    def breaks(*args):
        made.append(args)
        if len(made) == 3:
            raise RuntimeError("power cut")
        return real(*args)

    monkeypatch.setattr(log_store, "_entry", breaks)
    with pytest.raises(RuntimeError):
        jobs.start(row=row, step="import", by=keeper, clock=clock)
    row.refresh_from_db()
    assert (Entry.objects.count(), Reading.objects.count(), row.state) == (0, 0, "mapping")
    assert "no fault of the table" in row.problem
    monkeypatch.setattr(log_store, "_entry", real)
    step(row, "check")
    step(row, "import")
    assert Entry.objects.count() == 4


def test_a_job_that_was_killed_is_started_again_and_the_dead_one_stores_nothing(barn, keeper, plated):
    row = step(send(barn, keeper, "log", WEEKLY), "check")
    dead = "6f0e0f7e-0000-4000-8000-000000000001"
    long_ago = datetime(2026, 11, 25, 14, tzinfo=UTC)
    SheetImport.objects.filter(pk=row.pk).update(state="importing", job=dead, beat_at=long_ago)
    step(row, "import")
    assert (row.state, Entry.objects.count()) == ("imported", 4)
    jobs.run(row.pk, dead, clock=clock)
    assert Entry.objects.count() == 4


def test_what_died_goes_on_by_itself_once_and_then_waits_for_a_person(
    barn, keeper, plated, monkeypatch, client_as
):
    row = step(send(barn, keeper, "log", WEEKLY), "check")
    long_ago = {"state": "importing", "beat_at": datetime(2026, 11, 25, 14, tzinfo=UTC)}
    SheetImport.objects.filter(pk=row.pk).update(**long_ago)
    monkeypatch.setattr(jobs, "run", lambda *_args, **_values: None)  # a worker that dies at once
    jobs.wake(clock)
    row.refresh_from_db()
    assert (row.state, row.problem) == ("importing", jobs.CUT_SHORT)
    SheetImport.objects.filter(pk=row.pk).update(**long_ago)
    jobs.wake(clock)
    page = client_as(keeper).get(f"/spreadsheets/{row.pk}/").content.decode()
    assert "Nobody seems to be at work on it" in page
    monkeypatch.undo()
    assert client_as(keeper).post(f"/spreadsheets/{row.pk}/", {"what": "import"}).status_code == 302
    row.refresh_from_db()
    assert (row.state, row.problem, Entry.objects.count()) == ("imported", "", 4)


def test_taking_back_withdraws_every_entry_by_an_entry_and_the_chain_goes_on(barn, keeper, manager, plated):
    row = bring_in(barn, keeper, "log", WEEKLY)
    step(row, "undo", by=manager)
    assert (row.state, row.undone["withdrawn"], row.undone["kept"]) == ("undone", 4, [])
    assert entries_of(plated) == []
    assert set(Entry.objects.filter(kind="withdrawn").values_list("by", flat=True)) == {manager.pk}
    assert Entry.objects.count() == 8
    assert verify(export_history(plated, now=NOW)).sound


def test_an_entry_that_somebody_corrected_since_stays_and_is_told(barn, keeper, plated):
    row = bring_in(barn, keeper, "log", WEEKLY)
    old = Entry.objects.filter(kind="battery_reading").first()
    log_entry(
        vehicle=plated,
        kind="battery_reading",
        done_at=old.done_at,
        by=keeper,
        idempotency_key="mine",
        now=NOW,
        readings=[Measured("rested_volts", 12.2)],
        corrects=old,
    )
    step(row, "undo")
    assert (row.undone["withdrawn"], row.undone["kept_count"]) == (3, 1)
    assert "already corrected" in row.undone["kept"][0]["why"]
    assert [entry.idempotency_key for entry in entries_of(plated)] == ["mine"]


def test_moves_are_history_and_move_no_car(barn, keeper, plated, bays):
    rows = [["Reg", "Date", "Kind", "Moved to"], ["HB62A", "2026-05-01", "Moved", "Long shed A3"]]
    row = bring_in(barn, keeper, "log", rows)
    move = Entry.objects.get()
    assert move.details["to_bay"] == bays[2].pk
    plated.refresh_from_db()
    assert plated.bay == bays[0]
    step(row, "undo")
    plated.refresh_from_db()
    assert plated.bay == bays[0]


def test_a_tag_and_its_taking_off_find_each_other_by_number(barn, keeper, plated):
    rows = [
        ["No.", "Reg", "Date", "Kind", "Tag", "Tag where", "Takes off tag no."],
        ["1", "HB62A", "2026-05-01", "Tag hung", "drained", "Radiator", ""],
        ["2", "HB62A", "2026-06-01", "Tag taken off", "", "", "1"],
    ]
    bring_in(barn, keeper, "log", rows)
    hung, off = Entry.objects.order_by("done_at")
    assert off.details == {"opened": str(hung.pk)}
    rows[2][2], rows[2][6] = "2026-07-01", "7"
    row = step(send(barn, keeper, "log", [rows[0], rows[2]]), "check")
    assert row.report["faults"][0]["field"] == "Takes off tag no."


def test_a_mapping_is_remembered_by_its_headings(barn, keeper, plated):
    rows = [["Reg", "Date", "Vlts at rest"], ["HB62A", "2026-10-01", "12.5"]]
    row = send(barn, keeper, "log", rows)
    columns = {0: Use("car.registration"), 1: Use("done_at"), 2: Use("r.rested_volts", "V")}
    set_mapping(row=row, mapping=Mapping(Shape((("table.csv", 0),)), columns), skip_doubles=True)
    again = send(barn, keeper, "log", rows)
    assert again.mapping["remembered"]
    assert again.mapping["columns"]["2"]["field"] == "r.rested_volts"


def test_who_is_no_longer_a_member_brings_nothing_in(barn, keeper, plated):
    row = step(send(barn, keeper, "log", WEEKLY), "check")
    keeper.memberships.all().delete()
    step(row, "import")
    assert "role" in row.problem
    assert Entry.objects.count() == 0


def test_a_car_that_changes_between_check_and_storing_stops_the_whole(barn, keeper, plated):
    row = step(send(barn, keeper, "log", WEEKLY), "check")
    work = read_table(row, lambda _done: None, NOW)
    plated.system_volts = 6
    plated.save()
    with pytest.raises(Exception, match="was changed"), transaction.atomic():
        next(work.pieces)(NOW)
    assert Entry.objects.count() == 0

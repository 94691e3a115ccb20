"""Every row reaches what is made of it: its module, its form, its columns, its line of history, its shape."""

import dataclasses

import pytest

from collection.api.entries_sent import ENTRY_SENT, WRITTEN_ELSEWHERE
from collection.care.checks import fault_of
from collection.care.forms.base import CareForm
from collection.care.forms.fields import fields_of
from collection.care.forms.registry import CORRECT_FORMS, KIND_FORMS, TOPICS
from collection.care.rules import ASKS, DETAILS, MAY_HOLD
from collection.care.templatetags.care_words import SILENT, facts
from collection.life.duties import DUTY_TITLES
from collection.models import CareKind, Entry, FluidKind, Quantity
from collection.models.choices import care_kinds, fluid_kinds, quantity_kinds
from collection.spreadsheets.sheets.car_fields import CARS
from collection.spreadsheets.sheets.log_fields import LOG, REFERENCES
from collection.spreadsheets.sheets.log_rows import told_by, works_of
from scheduler.duties.conditions import FUEL_EVENTS, Fleet
from scheduler.duties.table import DUTIES as COMPUTED
from scheduler.life.log import LogOfCar, read
from scheduler.vocabulary.care import CARE, KIND
from scheduler.vocabulary.details import Choice, Detail, Flag, Number, Reading, Row, Text, Words
from scheduler.vocabulary.duties import DUTIES, DUTY
from scheduler.vocabulary.fluids import FLUIDS
from scheduler.vocabulary.quantities import QUANTITIES
from scheduler.week.work import WORK
from scheduler.year import Rates

CARES = pytest.mark.parametrize("row", CARE, ids=lambda row: row.code)


def sample(detail: Detail):
    match detail:
        case Number():
            return detail.low + (detail.high - detail.low) / 4
        case Flag():
            return True
        case Choice():
            return detail.choices[0][0]
        case Words():
            return ["rust"]
        case Row():
            return 7
        case Text():
            return "some words"[: detail.limit]
    raise AssertionError(detail)


# duties


@pytest.mark.parametrize(("row", "computed"), list(zip(DUTIES, COMPUTED, strict=True)), ids=list(DUTY))
def test_each_duty_is_computed_by_the_module_of_its_code(row, computed):
    assert computed.name == row.code
    assert callable(computed.window)
    assert callable(computed.explain)
    assert bool(computed.band) == bool(row.curve)


def test_duties_have_one_order_everywhere():
    assert list(DUTY_TITLES) == list(DUTY) == list(WORK) == [duty.name for duty in COMPUTED]


@pytest.mark.parametrize("duty", DUTIES, ids=lambda duty: duty.code)
def test_what_a_duty_uses_has_a_price_and_its_care_a_form(duty):
    assert not duty.uses or hasattr(Rates(), duty.uses)
    assert duty.answered_by[0].care in KIND_FORMS


# kinds of care


def test_every_kind_may_be_stored_corrected_and_sent():
    assert [kind.value for kind in CareKind] == list(KIND) == [code for code, _ in care_kinds()]
    assert set(CORRECT_FORMS) == set(KIND) - WRITTEN_ELSEWHERE
    assert set(ENTRY_SENT) == set(KIND) - WRITTEN_ELSEWHERE


def test_every_kind_with_a_topic_is_offered_under_it():
    offered = {form.kind: topic for topic, forms in TOPICS for form in forms}
    assert offered == {row.code: row.topic for row in CARE if row.topic}


@CARES
def test_a_form_has_a_field_for_all_that_its_kind_needs(row):
    form = CORRECT_FORMS.get(row.code)
    if form is None or form.own or form.clean is not CareForm.clean or row.code in ("note", "withdrawn"):
        return  # of a form of its own: its own tests fill it in
    fields = fields_of(row.code)
    asked = [ask for ask in ASKS[row.code] if isinstance(ask, Detail) and ask.in_form]
    assert {ask.key for ask in asked} <= set(fields)
    for ask in asked:
        assert str(fields[ask.key].label).startswith(ask.asked or ask.label)
    for ask in ASKS[row.code]:
        if isinstance(ask, Reading) and ask.in_form:
            assert any(getattr(field, "quantity", "") == ask.quantity for field in fields.values())


@CARES
def test_every_detail_and_reading_has_its_column(row):
    for key, rule in DETAILS[row.code].items():
        field = LOG.field(f"d.{key}")
        assert isinstance(rule, Row) == (field is None)
        if field and isinstance(rule, Number):
            assert field.unit == rule.unit
    for quantity in MAY_HOLD[row.code]:
        assert any(field.key.startswith(f"r.{quantity}") for field in LOG.fields)


def kinds_of(text):
    return [(work.kind, work.details) for work in works_of(text).works]


@CARES
def test_the_words_of_a_kind_are_understood_in_tables(row):
    assert kinds_of(row.title) == [(row.code, {})]
    for phrase in row.phrases:
        for word in phrase.words.split("|"):
            assert kinds_of(word)[0][0] == row.code


@CARES
def test_a_value_that_its_rule_allows_is_told_under_its_label(row):
    details = {key: sample(rule) for key, rule in DETAILS[row.code].items()}
    for key, rule in DETAILS[row.code].items():
        assert fault_of(rule, details[key]) == ""
    if row.code == "fault_test":
        return  # told as the search that it is part of
    entry = Entry(kind=row.code, details=details)
    entry._prefetched_objects_cache = {"readings": Entry.objects.none()}
    labels = [label for label, _ in facts(entry, "metric")]
    for key, rule in DETAILS[row.code].items():
        assert key in SILENT or rule.label in labels


@CARES
def test_what_an_entry_means_is_known_to_the_core(row):
    columns = {field.name for field in dataclasses.fields(Fleet)}
    assert {f"last_{event.name}" for event in row.events} <= columns
    assert not row.fuel or row.fuel in FUEL_EVENTS
    log = LogOfCar()
    details = {key: sample(rule) for key, rule in DETAILS[row.code].items() if key != "file_sha256"}
    read(log, {"id": 1, "kind": row.code, "details": details}, 739_000.0, [])
    assert (log.last["attended"] == 739_000.0) == row.attended
    assert {event.name for event in row.events} <= set(log.last)
    assert bool(log.fuel) == bool(row.fuel)


# quantities and fluids


@pytest.mark.parametrize("quantity", QUANTITIES, ids=lambda row: row.code)
def test_a_quantity_is_asked_for_somewhere_and_goes_home_from_a_table(quantity):
    assert quantity.code in MAY_HOLD[quantity.home]
    place = f".{quantity.positions[0].code}" if quantity.needs_position else ""
    (labels,) = told_by({f"r.{quantity.code}{place}": (quantity.low + quantity.high) / 2})
    assert labels.kind == quantity.home


def test_quantities_and_fluids_are_those_of_the_rows():
    assert [code for code, _ in quantity_kinds()] == [row.code for row in QUANTITIES] == Quantity.values
    assert [code for code, _ in fluid_kinds()] == [row.code for row in FLUIDS] == FluidKind.values


@pytest.mark.parametrize("fluid", FLUIDS, ids=lambda row: row.code)
def test_a_fluid_has_its_columns_and_its_change_its_words(fluid):
    assert CARS.field(f"{fluid.code}.type")
    assert CARS.field(f"{fluid.code}.changed_on")
    assert bool(CARS.field(f"{fluid.code}.glycol_pct")) == fluid.takes_glycol
    for words in fluid.change_words.split("|"):
        assert kinds_of(words) == [("fluid_changed", {"fluid": fluid.code})]


def test_an_entry_that_names_another_names_it_by_its_number():
    assert {key for rules in DETAILS.values() for key in rules} >= set(REFERENCES)

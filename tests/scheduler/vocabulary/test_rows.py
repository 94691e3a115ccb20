"""The rows of the vocabulary fit together: whatever one names, another has."""

import ast
import sys
from itertools import groupby
from pathlib import Path

import pytest

import scheduler.vocabulary
from scheduler.recommission.tags import Permission
from scheduler.vocabulary import cautions, equipment, fluids, kit, positions, regimes, systems, tags
from scheduler.vocabulary.care import CARE, KIND
from scheduler.vocabulary.details import Along, Detail, Number, Reading
from scheduler.vocabulary.duties import CHART_GROUPS, DUTIES, DUTY, EVERY_DUTY
from scheduler.vocabulary.quantities import QUANTITIES, QUANTITY
from scheduler.vocabulary.units import PREFERENCES, UNITS

HOME = Path(scheduler.vocabulary.__file__).parent
TABLES = (
    systems.SYSTEMS,
    DUTIES,
    CARE,
    QUANTITIES,
    fluids.FLUIDS,
    tags.TAGS,
    tags.TAGGED_PARTS,
    kit.KIT,
    equipment.EQUIPMENT,
    CHART_GROUPS,
    positions.TYRES,
    positions.CELLS,
    regimes.REGIMES,
    regimes.FUEL_SYSTEMS,
    regimes.VENTINGS,
    regimes.TANK_MATERIALS,
    regimes.SHELTERS,
)
# Lengths of the columns that keep the codes; a longer code would need a migration.
MOST_LETTERS = (
    (CARE, 20),
    (DUTIES, 20),
    (equipment.EQUIPMENT, 20),
    (QUANTITIES, 25),
    (fluids.FLUIDS, 15),
    (positions.TYRES, 12),
    (positions.CELLS, 12),
    (regimes.REGIMES, 10),
    (regimes.FUEL_SYSTEMS, 25),
    (regimes.VENTINGS, 10),
    (regimes.TANK_MATERIALS, 15),
    (regimes.SHELTERS, 20),
)


@pytest.mark.parametrize("rows", TABLES)
def test_a_code_stands_once_in_its_table(rows):
    codes = [row.code for row in rows]
    assert len(set(codes)) == len(codes)
    assert all(code == code.lower() and row.title for code, row in zip(codes, rows, strict=True))


def test_codes_fit_the_columns_that_keep_them():
    for rows, most in MOST_LETTERS:
        assert max(len(row.code) for row in rows) <= most, rows[0]


def test_reading_the_vocabulary_loads_nothing_else_of_ours():
    for path in HOME.glob("*.py"):
        for node in ast.walk(ast.parse(path.read_text())):
            names = [node.module] if isinstance(node, ast.ImportFrom) else []
            names += [name.name for name in node.names] if isinstance(node, ast.Import) else []
            for name in names:
                ours = name.startswith("scheduler.vocabulary")
                assert ours or name.split(".")[0] in sys.stdlib_module_names, f"{path.name}: {name}"


@pytest.mark.parametrize("duty", DUTIES, ids=lambda duty: duty.code)
def test_whatever_a_duty_names_has_its_row(duty):
    assert duty.system in {row.code for row in systems.SYSTEMS}
    assert duty.cautions
    assert set(duty.cautions) <= set(cautions.CAUTION)
    assert duty.kit
    assert set(duty.kit) <= {row.code for row in kit.KIT}
    assert duty.chart in {group.code for group in CHART_GROUPS}
    assert duty.touches == EVERY_DUTY or set(duty.touches) <= set(DUTY)
    assert not duty.fluid or duty.fluid in fluids.FLUID
    assert set(duty.work.equipment) <= {row.code for row in equipment.EQUIPMENT}
    low, likely, high = duty.work.minutes
    assert 0 < low <= likely <= high


@pytest.mark.parametrize("duty", DUTIES, ids=lambda duty: duty.code)
def test_each_duty_is_answered_by_care_that_can_hold_what_the_answer_asks_for(duty):
    assert duty.answered_by
    for answer in duty.answered_by:
        held = {ask.key for ask in KIND[answer.care].asks if isinstance(ask, Detail)}
        assert {*answer.about, *answer.counts_if} <= held
    assert KIND[duty.answered_by[0].care].topic, "the first is offered, so it has a form"


def test_the_steps_of_a_visit_have_one_order():
    ranks = [duty.work.rank for duty in DUTIES]
    assert len(set(ranks)) == len(ranks)
    assert sum(duty.work.by_moving for duty in DUTIES) == 1


def test_one_caution_a_key_with_its_source_and_standing():
    assert len(cautions.CAUTION) == len(cautions.CAUTIONS)
    for row in cautions.CAUTIONS:
        assert row.text
        assert row.source
        assert row.standing in (cautions.COMMON, cautions.PUBLISHED)


def test_each_caution_and_each_piece_of_kit_is_used():
    named = {code for row in (*CARE, *DUTIES) for code in row.cautions}
    assert named == set(cautions.CAUTION)
    assert {code for duty in DUTIES for code in duty.kit} == {row.code for row in kit.KIT}


@pytest.mark.parametrize("row", CARE, ids=lambda row: row.code)
def test_whatever_a_kind_of_care_names_has_its_row(row):
    details = {ask.key: ask for ask in row.asks if isinstance(ask, Detail)}
    assert set(row.cautions) <= set(cautions.CAUTION)
    assert {ask.quantity for ask in row.asks if isinstance(ask, Reading)} <= set(QUANTITY)
    assert {ask.key for ask in row.asks if isinstance(ask, Along)} <= {"temperature_c", "rest_hours"}
    assert set(row.silent) <= set(details)
    for phrase in row.phrases:
        assert set(phrase.says) <= set(details)
    for event in row.events:
        assert set(event.when) <= set(details)
    for detail in details.values():
        if isinstance(detail, Number) and detail.unit:
            assert detail.unit in UNITS, detail.key
            assert detail.low < detail.high
    assert row.verb


def test_what_is_missing_takes_a_permission_that_there_is():
    missing = {what for part in tags.TAGGED_PARTS for what in (part.out, part.drained)}
    assert {what.takes.upper() for what in missing} <= set(Permission.__members__)


def test_words_of_tables_mean_one_kind():
    words = sorted(
        (word, row.code) for row in CARE for phrase in row.phrases for word in phrase.words.split("|")
    )
    doubled = [word for word, same in groupby(words, key=lambda pair: pair[0]) if len(list(same)) > 1]
    assert doubled == []


@pytest.mark.parametrize("quantity", QUANTITIES, ids=lambda row: row.code)
def test_a_quantity_has_a_home_a_unit_and_limits(quantity):
    assert quantity.home in KIND
    assert not quantity.unit or quantity.unit in UNITS
    assert not quantity.read_in or quantity.read_in in {unit.name for unit in UNITS[quantity.unit]}
    assert quantity.low < quantity.high
    assert set(quantity.everywhere) <= set(quantity.positions)
    assert not quantity.positions or "{}" in quantity.position_title


def test_every_choice_of_units_names_units_that_there_are():
    for preference in PREFERENCES.values():
        for stored, own in preference.items():
            assert own in {unit.name for unit in UNITS[stored]}


@pytest.mark.parametrize("stored", UNITS)
def test_the_unit_that_is_stored_stands_first_and_is_itself(stored):
    first = UNITS[stored][0]
    name = "" if stored == "1" else stored  # a share has no unit
    assert (first.name, first.factor, first.offset) == (name, 1.0, 0.0)


def test_the_effects_that_rows_name_are_those_that_the_core_knows():
    assert {duty.effect for duty in DUTIES} == {"", "charged", "dosed", "filled", "inflated"}

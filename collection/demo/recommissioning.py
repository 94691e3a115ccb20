"""The car that stood about eleven years: what was found on it, and a plan half done."""

import uuid
from dataclasses import replace
from datetime import date, datetime, time, timedelta
from typing import Any

from dateutil.relativedelta import relativedelta

from collection.care.actions.record import Edit
from collection.demo.diary import Diary
from collection.models import (
    Basis,
    CareKind,
    Damp,
    Evidence,
    HandbookValue,
    RecommissionCase,
    Vehicle,
)
from collection.recommission.actions.evidence import save_evidence
from collection.recommission.actions.settings import save_case, save_handbook

CAR = "Carrowick Falconet GT"
STEP = CareKind.WAKING_RESULT
# Days ago, step, and its result as logged: the plan is through to the spark, which is weak.
STEPS: tuple[tuple[int, str, dict[str, Any]], ...] = (
    (19, "photographed", {"answer": "done"}),
    (19, "why_parked", {"answer": "unknown"}),
    (19, "fluids_as_found", {"answer": "done"}),
    (19, "is_earth", {"answer": "negative"}),
    (19, "is_ignition", {"answer": "points"}),
    (19, "is_generator", {"answer": "dynamo"}),
    (19, "is_cooling", {"answer": "water"}),
    (19, "is_gearbox", {"answer": "manual"}),
    (19, "is_cam", {"answer": "chain or gears"}),
    (19, "is_gas", {"answer": "no gas"}),
    (19, "is_steering", {"answer": "unassisted"}),
    (19, "is_suspension", {"answer": "springs"}),
    (18, "steady", {"answer": "safe"}),
    (18, "fuel_leak", {"answer": "none"}),
    (18, "droppings", {"answer": "untreated"}),
    (17, "droppings", {"answer": "treated"}),
    (18, "extinguisher", {"answer": "ready"}),
    (18, "structure", {"answer": "lift by axle or cross-beam", "instrument": "blunt probe"}),
    (17, "fuel_out", {"answer": "out, lines capped", "instrument": "fuel retriever"}),
    (17, "vapour", {"answer": "no smell, 10 % of LEL or less", "instrument": "gas meter"}),
    (17, "intake_clear", {"answer": "clear"}),
    (17, "exhaust_clear", {"answer": "clear"}),
    (17, "tags_reconciled", {"answer": "none open"}),
    (16, "bores_soaked", {"answer": "soaked"}),
    (9, "bores_seen", {"answer": "surface rust", "instrument": "bore lens"}),
    (9, "hand_turn", {"answer": "smoothly", "instrument": "spanner"}),
    (9, "valves_move", {"answer": "all"}),
    (9, "belts_free", {"answer": "all free"}),
    (8, "sump_water", {"answer": "a little water"}),
    (8, "new_oil", {"answer": "done"}),
    (8, "frost_seen", {"answer": "none seen", "instrument": "lamp, mirror"}),
    (8, "pressure_cap", {"answer": "holds", "instrument": "pressure tester"}),
    (8, "coolant_pressure", {"value": 6.0, "unit": "kPa", "instrument": "pressure tester"}),
    (5, "battery_rest", {"value": 12.68, "unit": "V", "instrument": "voltmeter"}),
    (5, "battery_load", {"value": 9.9, "unit": "V", "instrument": "load tester", "temperature_c": 9.0}),
    (6, "loom", {"answer": "gnawed"}),
    (5, "loom", {"answer": "sound"}),
    (4, "first_power", {"answer": "none", "instrument": "lamp in series"}),
    (4, "points_closed", {"value": 0.2, "unit": "ohm", "instrument": "ohm meter"}),
    (4, "spark", {"answer": "none", "instrument": "spark tester"}),
)
TESTS: tuple[tuple[int, dict[str, Any]], ...] = (
    (4, {"begun": True}),
    (3, {"test": "points_ohm", "outcome": "low"}),
    (3, {"test": "coil_feed", "outcome": "volts"}),
    (3, {"test": "coil_ohm", "could_not": "the handbook's page of values is missing"}),
)


def tell(diary: Diary, car: Vehicle) -> None:
    """The log of its recommissioning so far."""
    diary.begin("recommissioning")
    for days, check, result in STEPS:
        diary.write(car, STEP, _day(diary, days), details={"check": check} | result)
    looks = (
        (18, "wiring", "faulty", "mouse nest in the air box, one wire gnawed through at the coil"),
        (18, "shoes", "faulty", "all four brakes stuck on"),
        (9, "valves", "good", "each seen to move"),
    )
    for days, system, seen, text in looks:
        details = {"system": system, "seen": seen, "text": text}
        diary.write(car, CareKind.SYSTEM_SEEN, _day(diary, days), details=details)
    for days, present in ((18, True), (17, False)):
        hazard: dict[str, Any] = {"hazard": "untreated droppings", "present": present}
        diary.write(car, CareKind.HAZARD, _day(diary, days), details=hazard)
    for days, test in TESTS:
        tried = {"symptom": "cranks-no-spark"} | test
        diary.write(car, CareKind.FAULT_TEST, _day(diary, days), details=tried)


def _day(diary: Diary, days: int) -> date:
    return min(diary.today - timedelta(days=days), diary.today - timedelta(days=1))


def find(diary: Diary, car: Vehicle) -> None:
    """The evidence found on it and among the papers of the estate, and what its book says."""
    came = diary.today - timedelta(days=19)
    parked = came - relativedelta(years=11)
    finds: tuple[tuple[str, dict[str, Any]], ...] = (
        (
            "inspection_pass",
            {
                "on": parked - relativedelta(months=5),
                "odometer_km": 98_214.0,
                "answers": ["driven_there"],
                "note": "folded in the handbook",
            },
        ),
        ("odometer_now", {"odometer_km": 98_871.0, "answers": ["instrument_works"]}),
        ("cover_ends", {"on": parked + relativedelta(months=7), "note": "insurance letter, glove box"}),
        (
            "tyre_code",
            {
                "code": _code(parked - relativedelta(years=3)),
                "answers": ["worn"],
                "note": "near-side front, the youngest",
            },
        ),
        ("battery_made", {"code": f"C{(parked.year - 2) % 10}", "note": "case of the battery on the shelf"}),
        ("paper_under_tyre", {"on": parked - relativedelta(months=1), "note": "parish paper, off-side rear"}),
        (
            "statement",
            {
                "on": parked - relativedelta(months=6),
                "until": parked + relativedelta(months=18),
                "event": "road use",
                "note": "the neighbour: he stopped driving eleven years ago",
            },
        ),
        ("fuel_state", {"note": "brown, smells of varnish"}),
    )
    for number, (kind, details) in enumerate(finds):
        row = Evidence(id=uuid.uuid5(uuid.NAMESPACE_URL, f"{CAR} {kind}"), vehicle=car, kind=kind, **details)
        written = datetime.combine(came, time(11, 5 * number), diary.zone)
        save_evidence(row=row, by=diary.keepers[0], key=f"find-{kind}", now=written)
    edit = Edit(diary.keepers[0], datetime.combine(came, time(12), diary.zone))
    save_case(case=RecommissionCase(vehicle=car, damp=Damp.MIXED, conditions=["handbrake on"]), edit=edit)
    pressure = HandbookValue(
        vehicle=car, check_key="fuel_pressure", low=17.0, high=24.0, source="driver's handbook, page 41"
    )
    save_handbook(vehicle=car, values=[pressure], edit=replace(edit, basis=Basis.DOCUMENT))


def _code(made: date) -> str:
    year, week, _ = made.isocalendar()
    return f"{week:02d}{year % 100:02d}"

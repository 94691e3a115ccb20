"""Every sentence of an outlook is the text of a claim, and each claim is true of its car.

Ten cars that are well kept and ten that nobody looked after, all invented; what the record says of each
is known here in plain days and words, and every claim is worked out again from that.
"""

from dataclasses import dataclass, replace
from datetime import date

import numpy as np
import pytest

from scheduler.condition import PutAway, estimate_care, needs, outlooks, spells, stood
from scheduler.condition.claims import Says, span
from scheduler.condition.estimate import rated
from scheduler.condition.findings import findings
from scheduler.condition.outlook import NOBODY_KNOWS, Stood
from scheduler.condition.systems import SYSTEMS
from scheduler.duties.conditions import FUEL_SYSTEMS, REGIMES, VENTINGS, Charges
from scheduler.duties.policy import Policy
from tests.scheduler.barn import TODAY, a_place, cars, readings

SYSTEM = {system.name: system for system in SYSTEMS}
EXERCISED, DORMANT = REGIMES.index("exercised"), REGIMES.index("dormant")


@dataclass(frozen=True)
class Known:
    """What is true of one car: days since it ran, rolled, was charged (None: unknown), how it stands."""

    name: str
    ran: float | None
    rolled: float | None
    charged: float | None
    stored: float
    shelter: str = "enclosed"
    fuel_system: str = "carburettor"
    venting: str = "sealed"
    on_stands: bool = False
    found: str = ""
    kept: bool = True


KEPT = [
    Known("driven today", 0, 0, 0, 900),
    Known("driven last week", 7, 7, 7, 900),
    Known("charged yesterday", 40, 40, 1, 900),
    Known("rolled last week", 60, 7, 20, 400),
    Known("on stands", 80, 80, 10, 400, on_stands=True),
    Known("injected", 30, 30, 5, 300, fuel_system="electronic_injection"),
    Known("diesel", 20, 20, 5, 300, fuel_system="diesel"),
    Known("dry store", 50, 50, 5, 2000, shelter="humidity_controlled"),
    Known("open tank", 25, 25, 5, 700, venting="open"),
    Known("nest found", 10, 10, 5, 700, found="mouse nest in the air cleaner"),
]
NEGLECTED = [
    Known("one year", 365, 365, 365, 400, kept=False),
    Known("three years", 1100, 1100, 1100, 1200, kept=False),
    Known("ten years", 3650, 3650, 3650, 3700, kept=False),
    Known("thirty years", 10950, 10950, 10950, 11000, kept=False),
    Known("nobody knows", None, None, None, 300, kept=False),
    Known("nobody knows, came today", None, None, None, 0, kept=False),
    Known("in the open", 900, 900, 900, 1000, shelter="open", kept=False),
    Known("open tank for years", 2000, 2000, 2000, 2100, venting="open", kept=False),
    Known("nest found in a barn find", 5000, 5000, 5000, 20, found="droppings and a nest", kept=False),
    Known("handbrake stuck", 1500, 1500, 1500, 1600, found="handbrake stuck", kept=False),
]
BY_NAME = {known.name: known for known in (*KEPT, *NEGLECTED)}


def fleet_of(known):
    def day(ago):
        return np.nan if ago is None else TODAY - ago

    fleet = cars(
        place=a_place(known.shelter),
        regime=EXERCISED if known.kept else DORMANT,
        fuel_system=FUEL_SYSTEMS.index(known.fuel_system),
        venting=VENTINGS.index(known.venting),
        stored_since=TODAY - known.stored,
        last_full_warm=day(known.ran),
        last_road_use=day(known.ran),
        last_moved=day(known.rolled),
        on_stands=known.on_stands,
    )
    if known.charged is None:
        return fleet
    at = np.array([day(known.charged)])
    return replace(fleet, charges=Charges(np.zeros(1, np.int64), at, at, np.array([True])))


def outlook_of(known, fleet=None):
    seen = findings([(date(2026, 11, 1), known.found)] if known.found else [], None)
    late = () if known.kept else ("run_up", "charge")
    fleet = fleet or fleet_of(known)
    road = spell(known.ran, known.stored, "its last road use")
    road = stood(fleet, TODAY, Policy(), late, road, PutAway())
    each = spells(fleet, TODAY, road, spell(known.rolled, known.stored, "its last movement"), 0.0)
    return {one.system: one for one in outlooks(fleet, TODAY, Policy(), each, seen)}


def spell(ago, stored, since):
    """What evidence says: the day, or, where nobody knows, no more than that it was here."""
    return Stood(stored, None, since=since) if ago is None else Stood(ago, ago, since=since)


def days_for(system, known):
    """Shortest and longest days that this part has stood, by what is known of the car."""
    since = {"battery": (known.charged, known.ran), "tyres": (known.rolled, known.ran)}
    since |= dict.fromkeys(("shoes", "clutch"), since["tyres"])
    days = [day for day in since.get(system, (known.ran,)) if day is not None]
    return (min(days), min(days)) if days else (known.stored, None)


def is_true(claim, system, known):
    match claim.says:
        case Says.STOOD:
            return (claim.low, claim.high) == days_for(system, known)
        case Says.ONSET:
            earliest, _, latest = SYSTEM[system].onset.range
            return (claim.low, claim.high) == (earliest, latest)
        case Says.SOONER:
            facts = {"vented tank": known.venting == "open", "open building": known.shelter == "open"}
            return facts.get(claim.about, claim.about in ("frost", "heat", "ethanol", "part full"))
        case Says.LATER:
            facts = {
                "exercised": known.kept,
                "maintained": known.kept and known.charged is not None,
                "off its wheels": known.on_stands,
                "dry store": known.shelter == "humidity_controlled",
            }
            return facts.get(claim.about, False)
        case Says.DAMP:
            return 0 <= claim.low <= 1
        case Says.FOUND:
            return bool(known.found) and known.found in claim.about
        case Says.UNSEEN:
            return system == "wiring" and "nest" not in known.found
    return False


@pytest.mark.parametrize("name", BY_NAME)
def test_every_claim_is_true_of_its_car(name):
    known = BY_NAME[name]
    false = [
        (system, claim.text)
        for system, one in outlook_of(known).items()
        for claim in one.claims
        if not is_true(claim, system, known)
    ]
    assert false == []


@pytest.mark.parametrize("name", BY_NAME)
def test_every_sentence_is_the_text_of_a_claim_and_none_contradicts_another(name):
    for one in outlook_of(BY_NAME[name]).values():
        assert one.reasons == tuple(claim.text for claim in one.claims)
        assert len({claim.says for claim in one.claims if claim.says is Says.STOOD}) <= 1
        abouts = [claim.about for claim in one.claims if claim.about]
        assert len(abouts) == len(set(abouts))


@pytest.mark.parametrize("name", BY_NAME)
def test_rodents_are_told_by_a_find_alone(name):
    wiring = outlook_of(BY_NAME[name])["wiring"]
    assert wiring.is_seen == wiring.is_known == ("nest" in BY_NAME[name].found)
    assert wiring.is_known or wiring.words == NOBODY_KNOWS


@pytest.mark.parametrize("name", [name for name in BY_NAME if name.startswith("nobody knows")])
def test_of_a_car_of_which_nothing_is_known_nobody_says_what_is_likely(name):
    for system, one in outlook_of(BY_NAME[name]).items():
        assert one.is_known == (one.words != NOBODY_KNOWS)
        stood_for = next(
            (claim.text for claim in one.claims if claim.says is Says.STOOD), "nobody has looked"
        )
        assert "nobody" in stood_for, system
        assert one.words in (NOBODY_KNOWS, one.range_in_words)


@pytest.mark.parametrize("name", [known.name for known in KEPT])
def test_a_car_in_care_carries_no_bill_but_for_what_was_found(name):
    known = BY_NAME[name]
    outlook, cost = (
        list(outlook_of(known).values()),
        estimate_care(list(outlook_of(known).values()), (), *rated({}), 50.0),
    )
    repairs = [words for need in needs(outlook, (), cost) for words in need.repairs]
    assert repairs == (["gnawed or green wiring made good"] if known.found else [])
    assert (min(cost.money) > 0) == bool(known.found)


def test_a_drive_of_today_changes_the_sentence_at_once():
    stood = BY_NAME["three years"]
    driven = replace(stood, name="driven", ran=0, rolled=0)
    for system in ("battery", "bores", "clutch"):
        before, after = outlook_of(stood)[system], outlook_of(driven)[system]
        assert [(claim.low, claim.high) for claim in after.claims if claim.says is Says.STOOD] == [(0, 0)]
        assert after.likely < 0.01 < before.likely


@pytest.mark.parametrize(("volts", "is_claimed"), [(12.75, True), (11.9, False)])
def test_a_good_reading_of_today_speaks_for_the_battery_and_a_low_one_does_not(volts, is_claimed):
    known = BY_NAME["rolled last week"]
    read = replace(fleet_of(known), readings=readings("rested_volts", (0, TODAY, volts)))
    answer = outlook_of(known, replace(read, system_volts=np.array([12.0])))["battery"]
    assert any(claim.says is Says.FOUND for claim in answer.claims) == is_claimed
    assert (answer.likely == pytest.approx(0.05)) == is_claimed


def test_a_reading_of_last_year_speaks_for_nothing_today():
    known = BY_NAME["three years"]
    read = replace(fleet_of(known), readings=readings("rested_volts", (0, TODAY - 365, 12.75)))
    assert not any(claim.says is Says.FOUND for claim in outlook_of(known, read)["battery"].claims)


@pytest.mark.parametrize(
    ("days", "words"), [(1, "1 day"), (0, "0 days"), (100, "3 months"), (3835, "10.5 years")]
)
def test_days_are_counted_right(days, words):
    assert span(days) == words

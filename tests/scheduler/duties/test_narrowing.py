"""What a page promises of one reading comes true when it is taken and reads as promised."""

from dataclasses import replace

import numpy as np
import pytest

from scheduler.duties.conditions import FLUIDS, Charges, Rules
from scheduler.duties.narrowing import WIDE_SHARE, narrowing, with_reading
from scheduler.duties.policy import Policy
from scheduler.duties.table import BY_NAME
from scheduler.vocabulary.duties import DUTIES
from scheduler.vocabulary.errors import BadInput
from scheduler.vocabulary.quantities import QUANTITY
from tests.scheduler.barn import TODAY, a_place, cars

POLICY = Policy()


def a_car(charged=10.0, changed=60.0, shelter="enclosed"):
    """One car in use, of which little was measured."""
    fleet = cars(
        place=a_place(shelter),
        stored_since=TODAY - 400,
        last_full_warm=TODAY - 20,
        last_moved=TODAY - 20,
        last_attended=TODAY - 5,
        last_inspected=TODAY - 5,
    )
    day = np.array([TODAY - charged])
    charges = Charges(np.array([0]), day, day, np.array([True]))
    return replace(fleet, charges=charges, fluid_changed=np.full((1, len(FLUIDS)), TODAY - changed))


CARS = [a_car(), a_car(charged=25), a_car(changed=300), a_car(shelter="open")]
SEEN = [
    (at, duty.code, gain)
    for at, car in enumerate(CARS)
    for duty in DUTIES
    if (gain := narrowing(car, duty.code, TODAY, POLICY))
]


def test_some_window_would_be_narrowed_by_a_reading():
    assert {duty for _, duty, _ in SEEN} >= {"charge", "coolant"}


@pytest.mark.parametrize(("at", "duty", "gain"), SEEN)
def test_the_reading_narrows_the_window_to_what_was_promised(at, duty, gain):
    before = BY_NAME[duty].window(CARS[at], TODAY, POLICY)
    taken = with_reading(CARS[at], QUANTITY[gain.quantity], np.array([gain.value]), TODAY)
    after = BY_NAME[duty].window(taken, TODAY, POLICY)
    assert before.late[0] - before.early[0] == pytest.approx(gain.width_days)
    assert after.late[0] - after.early[0] == pytest.approx(gain.narrowed_days)
    assert gain.narrowed_days < 0.9 * gain.width_days
    assert gain.minutes == QUANTITY[gain.quantity].minutes
    assert gain.quantity in next(row for row in DUTIES if row.code == duty).measured_by


@pytest.mark.parametrize(("at", "duty", "gain"), SEEN)
def test_only_a_window_wider_than_a_third_of_its_interval_is_spoken_of(at, duty, gain):
    due = BY_NAME[duty].window(CARS[at], TODAY, POLICY).due[0]
    since = CARS[at].charges.day[0] if duty == "charge" else CARS[at].fluid_changed[0, 0]
    assert gain.width_days > WIDE_SHARE * (due - since)


def test_what_its_keeper_decided_is_not_narrowed():
    car = next(car for car in CARS if narrowing(car, "coolant", TODAY, POLICY))
    duty = np.array([[row.code for row in DUTIES].index("coolant")])[0]
    nan, no = np.array([np.nan]), np.array([False])
    own = replace(car, rules=Rules(np.array([0]), duty, np.array([365.0]), nan, nan, no))
    assert narrowing(own, "coolant", TODAY, POLICY) is None


def test_it_is_told_of_one_car_only():
    with pytest.raises(BadInput, match="one car"):
        narrowing(CARS[0].repeated([0, 0]), "charge", TODAY, POLICY)

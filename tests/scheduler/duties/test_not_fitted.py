"""A car built without a fluid is never asked to have it changed."""

from dataclasses import replace
from datetime import date

import numpy as np
import pytest

from scheduler.duties.conditions import FLUIDS
from scheduler.duties.not_fitted import NONE_FITTED
from scheduler.duties.policy import Policy
from scheduler.duties.table import DUTIES
from scheduler.physics.fluids.fluids import POSITION
from tests.scheduler.barn import a_place
from tests.scheduler.blank import blank

TODAY = float(date(2026, 11, 25).toordinal())
ABSENT = {
    "coolant": "coolant_none",
    "brake_fluid": "brake_none",
    "gearbox_oil": "gearbox_none",
    "axle_oil": "axle_none",
}
BY_NAME = {duty.name: duty for duty in DUTIES}


def two_cars(fluid):
    """The first lacks the fluid, of the second nothing is known."""
    fleet = blank(2, a_place())
    kinds = fleet.fluid_type.copy()
    kinds[0, FLUIDS.index(fluid)] = POSITION[ABSENT[fluid]]
    return replace(fleet, fluid_type=kinds)


@pytest.mark.parametrize("fluid", ABSENT)
def test_a_fluid_the_car_lacks_has_no_dates_and_the_other_car_keeps_its_own(fluid):
    window = BY_NAME[fluid].window(two_cars(fluid), TODAY, Policy())
    alone = BY_NAME[fluid].window(blank(1, a_place()), TODAY, Policy())
    assert np.isnan([window.early[0], window.due[0], window.late[0]]).all()
    assert window.limits[window.limit[0]] == NONE_FITTED
    assert not window.assumed[0]
    assert window.due[1] == alone.due[0]


@pytest.mark.parametrize("fluid", ABSENT)
def test_the_reason_says_that_the_car_has_none(fluid):
    reason = BY_NAME[fluid].explain(two_cars(fluid).take([0]), TODAY, Policy())
    assert reason.summary.startswith("This car has no ")

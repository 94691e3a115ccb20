"""Carbon monoxide: a caution that never understates."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scheduler.physics.engine import carbon_monoxide as co
from scheduler.vocabulary.errors import OutOfRange

EMISSION = st.floats(0.01, 5.0)
VOLUME = st.floats(20.0, 5000.0)
CHANGES = st.floats(0.0, 50.0)


@settings(max_examples=60)
@given(EMISSION, VOLUME, CHANGES)
def test_more_ventilation_never_shortens_the_time_to_a_limit(emission, volume, changes):
    closed, open_door = co.seconds_until_ppm(200.0, emission, volume, np.array([changes, changes + 1]))
    assert closed <= open_door


@settings(max_examples=60)
@given(EMISSION, VOLUME, CHANGES)
def test_the_time_to_a_limit_is_when_the_air_reaches_it(emission, volume, changes):
    seconds = co.seconds_until_ppm(200.0, emission, volume, changes)
    if np.isfinite(seconds) and seconds < 1e6:
        hours = seconds / 3600
        fed = -np.expm1(-changes * hours) / changes if changes * hours > 1e-9 else hours
        assert emission / volume * fed * 1e6 == pytest.approx(200.0, rel=1e-6)


def test_a_limit_that_ventilation_holds_off_is_never_reached():
    assert np.isinf(co.seconds_until_ppm(200.0, 0.1, 1000.0, 20.0))


def test_bad_rooms_and_exhausts_are_named():
    with pytest.raises(OutOfRange, match="volume_m3"):
        co.seconds_until_ppm(200.0, 0.2, 0.0, 1.0)
    with pytest.raises(OutOfRange, match="co_share"):
        co.emission_m3_per_h(5.0, 0.5)

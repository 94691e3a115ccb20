"""A fleet worked out in blocks gets the dates it gets in one piece."""

import numpy as np

from scheduler.duties import table as duties
from scheduler.duties.policy import Policy
from tests.bench.fleets import TODAY, fleet_of


def test_blocks_give_the_same_windows_as_the_whole(monkeypatch):
    fleet = fleet_of(50)
    whole = duties.forecast(fleet, TODAY, Policy())
    monkeypatch.setattr(duties, "BLOCK", 7)
    blocks = duties.forecast(fleet, TODAY, Policy())
    assert list(blocks) == list(whole)
    for name, window in whole.items():
        for column in ("early", "due", "late", "limit", "hold", "assumed"):
            np.testing.assert_allclose(
                getattr(blocks[name], column), getattr(window, column), atol=1e-6, err_msg=f"{name} {column}"
            )
        assert (blocks[name].limits, blocks[name].holds) == (window.limits, window.holds)

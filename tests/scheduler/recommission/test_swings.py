"""Which look would change the price most."""

from math import sqrt

import pytest

from scheduler.condition.outlook import Stood, outlook
from scheduler.recommission.costs import estimate
from scheduler.recommission.stages.plan import dormancy, plan_for
from scheduler.recommission.swings import price_swings, sure

PLAN = plan_for(dormancy(1500.0, known_preparation=False))
OUTLOOK = outlook(Stood(900, 1500))


def test_a_swing_is_what_the_estimate_itself_gains_between_good_and_bad():
    for swing in price_swings(PLAN, OUTLOOK):
        others = [one for one in OUTLOOK if one.system != swing.system]
        (own,) = [one for one in OUTLOOK if one.system == swing.system]
        bad, good = (estimate(PLAN, [*others, sure(own, chance)]).money[1] for chance in (1.0, 0.0))
        assert swing.money[1] == pytest.approx(bad - good)
        assert swing.spread == pytest.approx((bad - good) * sqrt(own.likely * (1 - own.likely)))


def test_what_is_certain_or_ruled_out_swings_nothing():
    for chance in (0.05, 0.95):
        assert price_swings(PLAN, [sure(one, chance) for one in OUTLOOK]) == ()


def test_the_widest_spread_stands_first():
    spreads = [one.spread for one in price_swings(PLAN, [sure(one, 0.5) for one in OUTLOOK])]
    assert len(spreads) > 5
    assert spreads == sorted(spreads, reverse=True)

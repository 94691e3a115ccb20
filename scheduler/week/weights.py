"""What a plan prefers, as prices: the plan with the lowest total is the best.

The steps between the prices make an order: everything placed, then nothing late, then as little
changed as possible, then few visits, few moves, one place together, level hours, near the due day.
"""

from dataclasses import dataclass


@dataclass(frozen=True)
class Weights:
    """Prices (policy, whole numbers). All are ours; none is a standard.

    ``level`` holds (share of the day's hours, price a minute beyond it): three steps make a full
    day dear without forbidding it.
    """

    unplaced: int = 20_000  # above what being late to the end of the plan costs
    put_off: int = 2_000  # past the end of the plan, though due within it; late only after it
    not_yet: int = 100  # past the end of the plan, due only after it
    late: int = 1_000  # once for a task that becomes late: dearer than any saving below
    # up to so many days late, the price of a day: the first weeks do the harm, 546 and 548 days are alike
    late_days: tuple[tuple[int, int], ...] = ((28, 200), (180, 150), (100_000, 10))
    changed: int = 150  # a task on another day than in the previous plan, where that had it in the next days
    changed_later: int = 25  # and where it had it later: people count on this week, not on the next month
    near_days: int = 7
    visit: int = 140  # opening one car on one day
    move: int = 40  # rolling one car out and back
    building: int = 20  # work in one building on one day
    early_day: int = 1  # each day before due: care too soon comes round again sooner
    after_due_day: int = 3
    level: tuple[tuple[float, int], ...] = ((0.5, 1), (0.7, 2), (0.9, 8))

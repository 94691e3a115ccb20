"""What is to be done with each battery: a word for every one, by what was measured and foretold.

The gravest first. Volts that no sound battery shows at rest are looked into before anything is put
on them; cells that differ too far, and a battery that fails under load while it is charged, are at
their end. A low reading on a maintainer is a failed maintainer, whatever else was expected.

Sources: a lead cell rests at 1.75 V or more even in nearly pure water (computed, see
``charge_state.SOUND_CELL_LEAST_V``); cells apart by more than 0.050 after a charge are condemned (trade
training handbook, Battery Service p. 9); half the cold-cranking current for 15 s must leave the volts of
the table (car makers' workshop books).
"""

from dataclasses import dataclass

import numpy as np

from scheduler.duties.conditions import Bools, Ints
from scheduler.vocabulary.units import DAYS_PER_YEAR

DEAD_AFTER_DAYS = DAYS_PER_YEAR  # policy: flat for a year, no source lets one hope

VERDICTS = (
    "fine",
    "charge",
    "recover",
    "replace",
    "find_drain",
    "isolate",
    "maintain",
    "inspect",
    "unknown",
)
FINE, CHARGE, RECOVER, REPLACE, FIND_DRAIN, ISOLATE, MAINTAIN, INSPECT, UNKNOWN = range(len(VERDICTS))


@dataclass(frozen=True)
class Signs:
    """What speaks for each verdict, (n,) each.

    ``silent``: nothing is known of the battery; ``unsound``: its newest rested volts are those of no
    sound one; ``condemned``: its cells or its volts under load say that it is at its end; ``drawn_on``:
    more draws on it than was recorded; ``maintainer_failed``; ``dead``: flat for so long that it cannot be
    trusted; ``low``: below the level at which sulphate hardens; ``due``: it wants a charge;
    ``drained_fast``: what draws on it, as recorded, empties it within weeks, and no isolator is fitted;
    ``leaks_fast``: with what it loses within itself, so that no charge lasts; ``spent``: what age and
    standing low have left for good is less than half of its rating.
    """

    silent: Bools
    unsound: Bools
    condemned: Bools
    maintainer_failed: Bools
    dead: Bools
    drawn_on: Bools
    low: Bools
    due: Bools
    drained_fast: Bools
    leaks_fast: Bools
    spent: Bools


def verdicts(signs: Signs) -> Ints:
    """Position in ``VERDICTS`` for each battery, (n,).

    >>> import numpy as np
    >>> no, yes = np.array([False]), np.array([True])
    >>> low_volts = Signs(no, yes, no, no, no, no, yes, yes, no, no, no)
    >>> VERDICTS[int(verdicts(low_volts)[0])]
    'inspect'
    """
    in_order = (
        (signs.condemned, REPLACE),
        (signs.unsound, INSPECT),
        (signs.maintainer_failed, MAINTAIN),
        (signs.silent, UNKNOWN),
        (signs.dead, REPLACE),
        (signs.drawn_on, FIND_DRAIN),
        (signs.low, RECOVER),
        (signs.spent, REPLACE),
        (signs.drained_fast & signs.due, ISOLATE),
        (signs.leaks_fast, MAINTAIN),
        (signs.due, CHARGE),
        (signs.drained_fast, ISOLATE),
    )
    return np.select([sign for sign, _ in in_order], [verdict for _, verdict in in_order], FINE).astype(
        np.int64
    )

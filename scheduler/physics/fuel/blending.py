"""What topping up does: every property of a tank after fuel is added to fuel.

What happens: age used, ethanol share, treated share, water and vapour pressure mix by volume.
Gum that is there stays there, merely thinner. Water tolerance (``water.tolerance_pct``) does not mix
by volume: it falls faster than the ethanol share does, so clear fuel topped up with a leaner grade can
drop its water (the dilution trap).

    x_mix = (V1 x1 + V2 x2) / (V1 + V2)

Vapour pressure mixed by volume is an approximation: ethanol added to petrol without it raises
Reid pressure by about 7 kPa (McCormick and Yanowitz, NREL memo of 26 Mar 2012).
"""

import numpy as np
import numpy.typing as npt

from scheduler.physics.checks import within

Floats = npt.NDArray[np.float64]


def blend(
    litres_there: npt.ArrayLike, there: npt.ArrayLike, litres_added: npt.ArrayLike, added: npt.ArrayLike
) -> Floats:
    """A property of the mixture, by volume; what was there where nothing is in the tank at all.

    ``litres_there`` of the property ``there``, ``litres_added`` of the property ``added``; shapes broadcast.
    OutOfRange: litres beyond 0 to 100,000.

    >>> round(float(blend(30.0, 0.8, 10.0, 0.0)), 2)  # 30 L at four fifths of its life, 10 L fresh
    0.6
    """
    old = within("litres_there", litres_there, 0.0, 1e5, "L", "volume of a tank")
    new = within("litres_added", litres_added, 0.0, 1e5, "L", "volume of a tank")
    whole = old + new
    share = np.divide(new, whole, out=np.zeros_like(whole), where=whole > 0)
    return np.asarray(np.asarray(there, float) * (1.0 - share) + np.asarray(added, float) * share)

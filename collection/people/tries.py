"""Wrong passwords: each makes the next try at that address wait longer, from there only.

Counted for a pair: the address, and the browser where it has signed in there before, else the network
that it comes from. So nobody shuts out the owner of an address by guessing from elsewhere.
"""

import hashlib
import math

from allauth.core.internal.ratelimit import cache_lock
from django.core.cache import cache

FREE = 4  # policy: wrong passwords before the first wait
FIRST_S = 15  # policy: the first wait, which doubles with each further wrong one
LONGEST_S = 3600  # policy: after which a machine still gets 24 guesses a day from each network
REMEMBERED_S = 86400


def count_try(pair: tuple[str, str], now: float) -> int:
    """Count a try before it is known whether it is right; the seconds to wait where it comes too early.

    Nothing is counted for one that comes too early, nor for one that is not known to be alone.
    """
    key = _key(pair)
    with cache_lock(key) as alone:
        if not alone:
            return 1
        count, last = cache.get(key) or (0, now)
        # a clock that was set back makes nobody wait longer than the wait itself
        wait = _wait(count) - max(0.0, now - last)
        if wait > 0:
            return math.ceil(float(wait))
        cache.set(key, (count + 1, now), REMEMBERED_S)
    return 0


def forget_tries(pair: tuple[str, str]) -> None:
    """The right password was given, or a new one by mail."""
    cache.delete(_key(pair))


def _wait(count: int) -> float:
    """Seconds after so many wrong passwords."""
    return 0 if count <= FREE else min(LONGEST_S, FIRST_S * 2.0 ** min(count - FREE - 1, 16))


def _key(pair: tuple[str, str]) -> str:
    return "tries-" + hashlib.sha256("\0".join(pair).encode()).hexdigest()


def in_words(seconds: int) -> str:
    """How long to wait."""
    minutes = math.ceil(seconds / 60)
    return f"{seconds} seconds" if seconds < 60 else f"{minutes} minute{'s' * (minutes > 1)}"

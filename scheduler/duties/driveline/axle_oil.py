"""Duty ``axle_oil``."""

from functools import partial

from scheduler.duties.oils import explanation_of, window_of

window = partial(window_of, "axle_oil")
explain = partial(explanation_of, "axle_oil")

"""Duty ``gearbox_oil``."""

from functools import partial

from scheduler.duties.oils import explanation_of, window_of

window = partial(window_of, "gearbox_oil")
explain = partial(explanation_of, "gearbox_oil")

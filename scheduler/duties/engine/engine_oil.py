"""Duty ``engine_oil``."""

from functools import partial

from scheduler.duties.oils import explanation_of, window_of

window = partial(window_of, "engine_oil")
explain = partial(explanation_of, "engine_oil")

"""Duty ``run_up``: run the engine up to drying temperature, under load; when, and when not at all."""

from scheduler.duties.engine.run_up.window import HOLDS, LIMITS, window
from scheduler.duties.engine.run_up.words import band, explain

__all__ = ["HOLDS", "LIMITS", "band", "explain", "window"]

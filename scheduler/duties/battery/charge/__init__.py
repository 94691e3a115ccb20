"""Duty ``charge``: when a standing battery needs its charge, and what happens if nobody comes.

From the newest thing known of each battery (a completed charge, a rested reading) the charge runs
down with the climate of its place and the car's drain. Due at the recharge threshold or at the
calendar's interval; late where sulphate hardens or where a cold night would freeze it.
"""

from scheduler.duties.battery.charge.curve import band
from scheduler.duties.battery.charge.window import LIMITS, window
from scheduler.duties.battery.charge.words import explain

__all__ = ["LIMITS", "band", "explain", "window"]

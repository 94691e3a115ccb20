"""The demo barn: an invented barn in an invented valley, dated from the day it is built.

It is the same each time for the same day. Each car draws from a chance of its own, so that a changed line
moves that car's history only; every entry goes through the action that pages use, as a test sees to.
"""

from collection.demo.building import build, is_loaded, is_only_the_demo
from collection.demo.people import ORGANISATION, SIGN_INS

__all__ = ["ORGANISATION", "SIGN_INS", "build", "is_loaded", "is_only_the_demo"]

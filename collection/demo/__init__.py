"""The demo barn: an invented barn in an invented valley, dated from the day it is built."""

from collection.demo.building import build, is_loaded, is_only_the_demo
from collection.demo.people import ORGANISATION, SIGN_INS

__all__ = ["ORGANISATION", "SIGN_INS", "build", "is_loaded", "is_only_the_demo"]

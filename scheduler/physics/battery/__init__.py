"""Charge, discharge, freezing, hydrogen, age."""

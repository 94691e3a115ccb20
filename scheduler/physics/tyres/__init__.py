"""Pressure and age."""

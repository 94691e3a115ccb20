"""Duties as items of a list."""

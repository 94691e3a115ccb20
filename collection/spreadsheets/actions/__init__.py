"""Bringing tables in: checked whole, stored whole or not at all, taken back whole."""

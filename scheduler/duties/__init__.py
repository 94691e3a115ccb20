"""Duties: windows (early, due, late), why, and what holds them back."""

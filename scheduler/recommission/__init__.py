"""Recommissioning a car that stood too long: for how long, what failed, in which order, what is allowed."""

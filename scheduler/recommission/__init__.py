"""Waking a car that has stood too long: how long, what has failed, in what order, and what is allowed."""

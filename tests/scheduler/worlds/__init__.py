"""Worlds apart from the models, for tests to draw the truth from."""

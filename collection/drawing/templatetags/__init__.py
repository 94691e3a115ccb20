"""Measured values in the person's unit."""

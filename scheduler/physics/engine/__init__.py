"""Warming up, exhaust, parts that age as they stand."""

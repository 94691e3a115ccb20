"""Reads a published table: CSV with its source in lines that begin with #."""

import csv
from pathlib import Path

import numpy as np

from scheduler.vocabulary.units import C_PER_F, F_AT_0_C

HERE = Path(__file__).parent


def rows(name):
    """The rows as dictionaries of text."""
    lines = (HERE / f"{name}.csv").read_text(encoding="utf-8").splitlines()
    return list(csv.DictReader(line for line in lines if line and not line.startswith("#")))


def columns(name):
    """The columns as arrays of numbers."""
    table = rows(name)
    return {key: np.array([float(row[key] or "nan") for row in table]) for key in table[0]}


def celsius_from_fahrenheit(fahrenheit):
    """What a table in °F says, in °C."""
    return (np.asarray(fahrenheit, float) - F_AT_0_C) * C_PER_F

"""Prices of recommissioning that stood apart move among the others, in one money."""

from importlib import import_module
from types import SimpleNamespace

import pytest
from django.db import connection
from django.db.migrations.loader import MigrationLoader

BEFORE = ("collection", "0024_what_a_car_looks_like")
TABLE = """CREATE TABLE collection_recommissionprices (
    id integer PRIMARY KEY, organisation_id bigint, currency varchar(3), hour_low double precision,
    hour_likely double precision, hour_high double precision, parts_low double precision,
    parts_likely double precision, parts_high double precision)"""


@pytest.fixture(scope="module")
def old():
    """The tables as they were before."""
    return MigrationLoader(None).project_state(BEFORE).apps


@pytest.mark.parametrize(
    ("written", "money", "own"),
    [
        ("", "EUR", {"workshop_hour": 70.0, "parts_factor": 2.0}),
        ("€", "€", {"workshop_hour": 70.0, "parts_factor": 2.0}),
        ("eur", "eur", {"workshop_hour": 70.0, "parts_factor": 2.0}),
        ("kr", "kr", {}),
    ],
)
def test_what_was_typed_in_another_money_is_left_behind(barn, old, written, money, own):
    barn.money = written
    barn.save()
    with connection.cursor() as cursor:
        cursor.execute(TABLE)
        cursor.execute(
            "INSERT INTO collection_recommissionprices VALUES (1, %s, 'EUR', 55, 70, 95, 1, 2, 3)", [barn.pk]
        )
        move = import_module("collection.migrations.0025_one_money").move
        move(old, SimpleNamespace(connection=connection, execute=cursor.execute))
        cursor.execute("DROP TABLE collection_recommissionprices")
    barn.refresh_from_db()
    assert barn.money == money
    assert dict(barn.rates.values_list("name", "value")) == own

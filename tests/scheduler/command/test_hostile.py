"""No document, however odd, gives a traceback: an answer, or messages that name what is wrong.

``LONGSTAND_HOSTILE=1000`` tries so many; the CI's share is small.
"""

import copy
import io
import json
import os
import random

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from scheduler.command.run import run
from tests.scheduler.command.cars import ON, some_cars

TRIES = int(os.environ.get("LONGSTAND_HOSTILE", "40"))
ODD = st.one_of(
    st.none(),
    st.booleans(),
    st.integers(),
    st.floats(),
    st.text(max_size=20),
    st.sampled_from(
        ["", "nan", "2026-02-30", "0001-01-01", "9999-12-31", 1e308, -1, 0, 10**400, [], {}, "\ud800"]
    ),
    st.lists(st.integers(), max_size=13),
    st.dictionaries(st.text(max_size=5), st.integers(), max_size=3),
)
ODDER = st.recursive(
    ODD, lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(max_size=8), inner)
)


def asked(sent, *words):
    out, wrong = io.StringIO(), io.StringIO()
    status = run(["-", "--on", ON.isoformat(), *words], io.BytesIO(sent), out, wrong)
    return status, out.getvalue(), wrong.getvalue()


def well_answered(sent):
    status, out, wrong = asked(sent)
    if status == 0:
        assert not wrong
        json.loads(out)
    else:
        assert status == 2
        assert not out
        assert wrong.strip()
        assert "Traceback" not in wrong


def spoilt(car, chance, value):
    """The car with one thing in it replaced, taken out or added."""
    car = copy.deepcopy(car)
    part = car
    while True:
        keys = list(part) if isinstance(part, dict) else list(range(len(part)))
        if not keys:
            return car
        key = chance.choice(keys)
        if isinstance(part[key], dict | list) and chance.random() < 0.85:
            part = part[key]
            continue
        match chance.randrange(3):
            case 0:
                part[key] = value
            case 1 if isinstance(part, dict):
                part["what is this"] = value
            case _:
                del part[key]
        return car


@settings(max_examples=TRIES, deadline=None, suppress_health_check=list(HealthCheck))
@given(seed=st.integers(0, 10**6), value=ODD)
def test_a_car_with_something_odd_in_it_is_answered_or_refused_by_name(seed, value):
    chance = random.Random(seed)  # noqa: S311 - of documents
    [car] = some_cars(seed, 1)
    for _ in range(chance.randrange(1, 4)):
        car = spoilt(car, chance, value)
    try:
        sent = json.dumps(car).encode()
    except (ValueError, RecursionError):
        return  # no JSON can be made of it: the next test sends what is none
    well_answered(sent)


@settings(max_examples=TRIES, deadline=None)
@given(value=ODDER)
def test_any_json_is_answered_or_refused(value):
    well_answered(json.dumps(value, ensure_ascii=True).encode())


@settings(max_examples=TRIES, deadline=None)
@given(sent=st.binary(max_size=60))
def test_any_bytes_are_refused_or_read(sent):
    well_answered(sent)


def test_what_is_nested_beyond_all_measure_is_refused():
    well_answered(b"[" * 200_000)
    well_answered(b'{"id":"A","facts":' + b"[" * 50_000 + b"]" * 50_000 + b"}")


def test_a_number_of_five_thousand_digits_is_refused():
    status, _, wrong = asked(b'{"id": "A", "tank_litres": ' + b"9" * 5000 + b"}")
    assert status == 2
    assert wrong

"""What is wrong is said by car, fact and field, one line each, with status 2 and nothing printed."""

import io
import json
import subprocess
import sys
from pathlib import Path

import pytest

from scheduler import forecast
from scheduler.command.run import run
from tests.scheduler.command.cars import CLIMATE, ON, car

ROOT = Path(__file__).parents[3]


def refused(document, *words):
    """The lines on standard error of a document that must be refused."""
    out, wrong = io.StringIO(), io.StringIO()
    sent = document if isinstance(document, bytes) else json.dumps(document).encode()
    status = run(["-", "--on", ON.isoformat(), *words], io.BytesIO(sent), out, wrong)
    assert (status, out.getvalue()) == (2, "")
    return wrong.getvalue().splitlines()


def fact(**more):
    return car({"on": "2026-10-05", **more})


@pytest.mark.parametrize(
    ("document", "names"),
    [
        (
            fact(kind="charge", complete=True),
            ["car 'A'", "fact 1 (charge on 2026-10-05)", "complete", "not known"],
        ),
        (fact(kind="charge"), ["fact 1 (charge", "completed, ampere_hours"]),
        (fact(kind="charge", completed="yes"), ["completed", "boolean"]),
        (fact(kind="drain_measured", milliamps="30"), ["milliamps", "number"]),
        (fact(kind="drain_measured", milliamps=-3), ["milliamps", "greater"]),
        (fact(kind="drain_measured", milliamps=30, amps=0.03), ["amps: is not known here"]),
        (fact(kind="battery_reading", rested_volts=1265), ["rested_volts", "36"]),
        (fact(kind="battery_reading", cell_gravities=[1.265, 1.26, 1265]), ["cell_gravities"]),
        (fact(kind="battery_fitted", chemistry="lead"), ["chemistry", "flooded_antimony"]),
        (fact(kind="battery_fitted", made_on="2026-11-01"), ["made_on", "after the battery was put in"]),
        (fact(kind="polished"), ["fact 1 (polished", "kind", "charge"]),
        (fact(kind="moved", place="shed"), ["place", "'shed'", "not among the car's places"]),
        (fact(kind="maintainer", fitted=True, seen_failed=True), ["exactly one"]),
        (fact(kind="tyres_fitted", date_code="9918"), ["date_code", "no week 99"]),
        (fact(kind="tyres_fitted", date_code="4830"), ["date_code", "future"]),
        (fact(kind="fluid_changed", fluid="coolant", type="dot_4"), ["type", "brake_fluid"]),
        (
            fact(kind="fuel_added", litres=20, tank_after_litres=10),
            ["tank_after_litres", "less than went in"],
        ),
        (fact(kind="tag_closed", tag="danger"), ["tag", "was not on"]),
        (fact(kind="tyre_pressures", found_kpa={"middle": 200}), ["found_kpa", "middle"]),
        (car({"on": "2026-02-30", "kind": "stored"}), ["fact 1 (stored on 2026-02-30)", "on", "no such day"]),
        (car({"on": 20261005, "kind": "stored"}), ["on", "such as 2026-12-01"]),
        (car({"kind": "stored"}), ["on", "missing"]),
        (car({"on": "1950-01-01", "kind": "stored"}, built_on="1960-01-01"), ["before the car was built"]),
        (car(colour="red"), ["car 'A'", "colour", "not known"]),
        (car(system_volts=13), ["system_volts"]),
        (car(places={"barn": {"shelter": "tent"}}), ["places.barn.shelter"]),
        (
            car(places={"barn": {"shelter": "open", "climate": CLIMATE | {"low_c": [20.0] * 12}}}),
            ["month 1, 2"],
        ),
        (car(tank_litres=float("nan")), ["NaN"]),
        ({"facts": []}, ["car number 1", "id", "missing"]),
        ([car(), car()], ["car 'A'", "two cars"]),
        (b'{"id": "A", "id": "B"}', ["'id'", "twice"]),
        (b"{", ["-:"]),
        (b"\xff\xfe\xfa", ["-:"]),
    ],
)
def test_a_fault_names_where_it_is(document, names):
    lines = refused(document)
    assert len(lines) == 1
    for name in names:
        assert name in lines[0]


def test_each_fault_has_a_line_of_its_own():
    lines = refused([fact(kind="charge", complete=True, completed=3), car(id="B", regime="washed")])
    assert len(lines) == 3
    assert [line.split(":")[0] for line in lines] == ["car 'A'", "car 'A'", "car 'B'"]


def test_the_library_raises_the_same_messages():
    with pytest.raises(ValueError, match="car 'A': fact 1") as raised:
        forecast(fact(kind="drain_measured", milliamps=-3), on=ON)
    assert raised.value.messages == refused(fact(kind="drain_measured", milliamps=-3))


def test_a_file_that_is_not_there_is_named():
    out, wrong = io.StringIO(), io.StringIO()
    assert run(["nowhere.json", "--on", "2026-12-01"], io.BytesIO(), out, wrong) == 2
    assert "nowhere.json" in wrong.getvalue()


@pytest.mark.parametrize("day", ["1890-01-01", "2199-01-01"])
def test_a_day_too_far_off_is_refused(day):
    out, wrong = io.StringIO(), io.StringIO()
    assert run(["-", "--on", day], io.BytesIO(b"[]"), out, wrong) == 2
    assert "on: must be from" in wrong.getvalue()


def command(*words, sent=b""):
    return subprocess.run(  # noqa: S603 - our own module
        [sys.executable, "-m", "scheduler", *words], input=sent, capture_output=True, cwd=ROOT, check=False
    )


def test_the_command_ends_with_its_status_and_prints_in_any_locale():
    good = command("-", "--on", "2026-12-01", sent=json.dumps(car()).encode())
    assert (good.returncode, good.stderr) == (0, b"")
    assert json.loads(good.stdout)[0]["id"] == "A"
    bad = command("-", "--on", "2026-12-01", sent=json.dumps(car(colour="red")).encode())
    assert (bad.returncode, bad.stdout) == (2, b"")
    assert b"colour" in bad.stderr
    assert command("-", "--on", "yesterday").returncode == 2


def test_the_vocabulary_is_read_without_numpy():
    done = subprocess.run(
        [
            sys.executable,
            "-c",
            "import sys, scheduler.vocabulary.duties; assert not {'numpy', 'pydantic'} & set(sys.modules);"
            "from scheduler import forecast; assert 'numpy' in sys.modules and callable(forecast)",
        ],
        capture_output=True,
        cwd=ROOT,
        check=False,
    )
    assert (done.returncode, done.stderr) == (0, b"")

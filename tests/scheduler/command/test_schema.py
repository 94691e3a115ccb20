"""The schemas say what is read and what is said, and answers keep to theirs."""

import io
import json

import jsonschema
import pytest

from scheduler import forecast
from scheduler.command.run import run
from scheduler.duties.conditions import TAGS
from scheduler.vocabulary.duties import DUTIES, DUTY
from tests.scheduler.command.cars import ON, car, some_cars


@pytest.fixture(scope="module")
def schemas():
    out = io.StringIO()
    assert run(["--schema"], io.BytesIO(), out, io.StringIO()) == 0
    return json.loads(out.getvalue())


def answered(cars):
    out = io.StringIO()
    sent = json.dumps(cars).encode()
    assert run(["-", "--on", ON.isoformat()], io.BytesIO(sent), out, io.StringIO()) == 0
    return json.loads(out.getvalue())


def test_what_is_read_and_said_keeps_to_the_schemas(schemas):
    cars = some_cars(seed=11, count=8)
    jsonschema.validate(cars, schemas["input"])
    jsonschema.validate(answered(cars), schemas["output"])


def test_the_schema_refuses_what_the_command_refuses(schemas):
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(car(colour="red"), schemas["input"])


def test_the_schemas_name_the_codes_of_the_rows(schemas):
    text = json.dumps(schemas)
    for code in (*DUTY, *TAGS):
        assert f'"{code}"' in text


def test_the_library_says_the_same_with_dates():
    [answer], [printed] = forecast(car(), on=ON), answered(car())
    assert answer["on"] == ON
    assert json.loads(json.dumps(answer, default=str)) == printed


def test_every_duty_is_answered_once_and_explained_in_words():
    [answer] = forecast(car({"on": "2025-10-01", "kind": "stored"}), on=ON)
    assert sorted(duty["duty"] for duty in answer["duties"]) == sorted(DUTY)
    assert [past["duty"] for past in answer["past"]] == list(DUTY)
    for row in DUTIES:
        out = io.StringIO()
        sent = json.dumps(car({"on": "2025-10-01", "kind": "stored"})).encode()
        words = ["-", "--on", ON.isoformat(), "--explain", row.code]
        assert run(words, io.BytesIO(sent), out, io.StringIO()) == 0
        because = next(duty["because"] for duty in answer["duties"] if duty["duty"] == row.code)
        assert out.getvalue().startswith(because)
        assert "Sources" in out.getvalue()

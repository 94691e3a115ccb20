"""What comes in: a batch as JSON, checked whole before any reading of it is looked at."""

from collections.abc import Sequence
from datetime import datetime
from typing import Annotated

from pydantic import AwareDatetime, BaseModel, ConfigDict, Field, FiniteFloat, ValidationError

from collection.models import Sensor
from collection.sensors.actions.readings import Sent, Taken, take_readings

MOST_READINGS = 2000  # policy: two weeks at every ten minutes
MOST_BYTES = 500_000


class ReadingSent(BaseModel):
    """One value. Without ``at`` it is of the moment at which it arrives."""

    model_config = ConfigDict(extra="forbid")

    quantity: Annotated[str, Field(max_length=40)]
    value: FiniteFloat
    position: Annotated[str, Field(max_length=40)] = ""
    at: AwareDatetime | None = None


class BatchSent(BaseModel):
    """Readings of one sensor, in any order."""

    model_config = ConfigDict(extra="forbid")

    readings: Annotated[list[ReadingSent], Field(min_length=1, max_length=MOST_READINGS)]


class NoBatch(ValueError):
    """What came is no batch; each fault names its field."""

    def __init__(self, faults: Sequence[dict[str, str]]) -> None:
        self.faults = faults
        super().__init__("; ".join(f"{fault['field']}: {fault['detail']}" for fault in faults))


def take(sensor: Sensor, body: bytes, now: datetime) -> Taken:
    """Take a batch in; NoBatch where it cannot be read, and then nothing of it is stored."""
    try:
        batch = BatchSent.model_validate_json(body)
    except ValidationError as fault:
        raise NoBatch(
            [
                {"field": ".".join(map(str, error["loc"])), "detail": f"{error['msg']}."}
                for error in fault.errors(include_url=False, include_input=False, include_context=False)
            ][:20]
        ) from fault
    sent = [Sent(row.at or now, row.quantity, row.value, row.position) for row in batch.readings]
    return take_readings(sensor=sensor, batch=sent, now=now)


def answer_of(taken: Taken) -> dict[str, int | list[dict[str, int | str]]]:
    """The answer to the sensor: ``reading`` counts from 0, as the batch was sent."""
    return {
        "stored": taken.stored,
        "known": taken.known,
        "refused": [{"reading": number, "detail": why} for number, why in taken.refused.items()],
    }

"""What every shape that is read has in common: nothing unknown, nothing coerced, days as days."""

import re
from collections.abc import Iterable
from datetime import date, datetime
from typing import Annotated, Any

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, GetCoreSchemaHandler
from pydantic_core import CoreSchema, core_schema

FIRST_DAY, LAST_DAY = date(1880, 1, 1), date(2200, 12, 31)  # before any motor car; beyond any plan
CALENDAR = re.compile(r"\d{4}-\d{2}-\d{2}", re.ASCII)


class Shape(BaseModel):
    """An object whose keys are all known and whose values are what they say."""

    model_config = ConfigDict(extra="forbid", strict=True, allow_inf_nan=False, frozen=True)


def read_day(value: Any) -> Any:
    """A day from its ISO text or as a date; ValueError says what to write."""
    if isinstance(value, str) and CALENDAR.fullmatch(value):
        try:
            value = date.fromisoformat(value)
        except ValueError as fault:
            raise ValueError("there is no such day") from fault
    if not isinstance(value, date) or isinstance(value, datetime):
        raise ValueError("write a day, such as 2026-12-01")
    if not FIRST_DAY <= value <= LAST_DAY:
        raise ValueError(f"must be from {FIRST_DAY} to {LAST_DAY}")
    return value


class OneOf:
    """Marks a text that must be one of some codes of the vocabulary or of the core's tables."""

    def __init__(self, codes: Iterable[str]) -> None:
        self.codes = list(codes)

    def __get_pydantic_core_schema__(self, _source: Any, _handler: GetCoreSchemaHandler) -> CoreSchema:
        return core_schema.literal_schema(self.codes)


Day = Annotated[date, BeforeValidator(read_day)]
Name = Annotated[str, Field(min_length=1, max_length=100)]
Celsius = Annotated[float, Field(ge=-60, le=80)]
Percent = Annotated[float, Field(ge=0, le=100)]
Litres = Annotated[float, Field(ge=0, le=1000)]

"""What may be sent to the care log: a shape for each kind, made from the log's own rules."""

from collections.abc import Mapping
from typing import Annotated, Any, Literal

from ninja import Field
from pydantic import BaseModel, StringConstraints, create_model

from collection.api.shapes import LARGEST_ID, PLAIN, Moment, Sent
from collection.care.checks import NOTE_LIMIT
from collection.care.draft import Measured
from collection.care.rules import DETAILS, LIMITS, MAY_HOLD, NEEDS_A_READING, REST, TEMPERATURE
from collection.models import CareKind
from scheduler.vocabulary.care import KIND
from scheduler.vocabulary.details import Choice, Detail, Flag, Number, Row, Text, Words
from scheduler.vocabulary.quantities import QUANTITY

WRITTEN_ELSEWHERE = frozenset({CareKind.WITHDRAWN})  # by the operation that withdraws
NOT_BY_HAND = {CareKind.NOTE: frozenset({"found", "answers"})}  # by the operations on findings
MOST_LIMITS = 12
NOT_BLANK = r"^[^\x00]*[^\s\x00][^\x00]*$"


def _text(limit: int, *, needed: bool) -> StringConstraints:
    """Words up to a length; what is needed may not be blank."""
    return StringConstraints(strict=True, max_length=limit, pattern=NOT_BLANK if needed else PLAIN)


def _type_of(rule: Detail) -> Any:
    """The rule of one detail as a type that refuses the same things."""
    match rule:
        case Number():
            label = f"{rule.label}, {rule.unit}" if rule.unit else rule.label
            return Annotated[
                float, Field(description=label, strict=True, ge=rule.low, le=rule.high, allow_inf_nan=False)
            ]
        case Flag():
            return Annotated[bool, Field(description=rule.label, strict=True)]
        case Choice():
            return Annotated[Literal[tuple(code for code, _ in rule.choices)], Field(description=rule.label)]
        case Text():
            form = _text(rule.limit, needed=rule.required)
            return Annotated[str, form, Field(description=rule.label)]
        case Words():
            word = Annotated[str, _text(rule.limit, needed=True)]
            return Annotated[list[word], Field(description=rule.label, max_length=rule.most)]
        case Row():
            return Annotated[int, Field(description=rule.label, strict=True, ge=1, le=LARGEST_ID)]
    raise TypeError(f"{rule} is no detail that may be sent")


def _details(kind: str) -> type[BaseModel]:
    left_out = NOT_BY_HAND.get(CareKind(kind), frozenset())
    fields: dict[str, Any] = {
        key: (_type_of(rule), ...) if rule.required else (_type_of(rule) | None, None)
        for key, rule in DETAILS[kind].items()
        if key not in left_out
    }
    return create_model(f"Details_{kind}", __base__=Sent, __doc__="Details, in SI units.", **fields)


def _number(rule: Number) -> Any:
    return Annotated[
        float, Field(description=rule.label, strict=True, ge=rule.low, le=rule.high, allow_inf_nan=False)
    ]


def _reading(quantity: str) -> type[BaseModel]:
    """A reading of one quantity with its own limits."""
    row, rule = QUANTITY[quantity], LIMITS[quantity]
    places = tuple(position.code for position in row.positions)
    fields: dict[str, Any] = {
        "quantity": (Literal[quantity], ...),
        "value": (_number(rule), ...),
        "temperature_c": (_number(TEMPERATURE) | None, None),
        "rest_hours": (_number(REST) | None, None),
    }
    if places:
        fields["position"] = (Literal[places], ...) if row.needs_position else (Literal[places] | None, None)
    description = f"{rule.label}{f', {rule.unit}' if rule.unit else ''}."
    return create_model(f"Reading_{quantity}", __base__=Sent, __doc__=description, **fields)


READING_SENT: dict[str, type[BaseModel]] = {quantity: _reading(quantity) for quantity in LIMITS}


def _readings(kind: str) -> Any:
    """A list of the readings that the kind may hold."""
    shapes = tuple(READING_SENT[quantity] for quantity in sorted(MAY_HOLD.get(kind, ())))
    if not shapes:
        return None
    one: Any = shapes[0]
    for other in shapes[1:]:
        one = one | other
    if len(shapes) > 1:
        one = Annotated[one, Field(discriminator="quantity")]
    least = 1 if kind in NEEDS_A_READING else 0
    return Annotated[list[one], Field(min_length=least, max_length=MOST_LIMITS)]


Note = Annotated[str, _text(NOTE_LIMIT, needed=False)]
NeededNote = Annotated[str, _text(NOTE_LIMIT, needed=True)]
DoneAt = Annotated[
    Moment | None,
    Field(
        description="When it was done, by RFC 3339 with any offset; null is just now. Not in the future.",
        examples=["2026-11-25T09:30:00Z"],
    ),
]


def _entry(kind: str) -> type[BaseModel]:
    fields: dict[str, Any] = {"kind": (Literal[kind], ...), "done_at": (DoneAt, None)}
    fields["note"] = (NeededNote, ...) if KIND[kind].note_required else (Note, "")
    details = _details(kind)
    if details.model_fields:
        needed = any(field.is_required() for field in details.model_fields.values())
        fields["details"] = (details, ...) if needed else (details, Field(default_factory=details))
    if (readings := _readings(kind)) is not None:
        fields["readings"] = (readings, ...) if kind in NEEDS_A_READING else (readings, [])
    return create_model(f"Send_{kind}", __base__=Sent, __doc__=f"{CareKind(kind).label}.", **fields)


ENTRY_SENT: dict[str, type[BaseModel]] = {
    kind: _entry(kind) for kind in DETAILS if kind not in WRITTEN_ELSEWHERE
}
_any: Any = None
for _one in ENTRY_SENT.values():
    _any = _one if _any is None else _any | _one
AnyEntry = Annotated[_any, Field(discriminator="kind")]


def details_of(sent: Any) -> Mapping[str, Any]:
    """The details that were given, as the log takes them."""
    details = getattr(sent, "details", None)
    values = details.model_dump(mode="python") if details is not None else {}
    return {key: value for key, value in values.items() if value not in (None, "", [])}


def readings_of(sent: Any) -> list[Measured]:
    """The readings as the log takes them."""
    return [
        Measured(
            row.quantity,
            float(row.value),
            getattr(row, "position", None) or "",
            row.temperature_c,
            row.rest_hours,
        )
        for row in getattr(sent, "readings", ())
    ]

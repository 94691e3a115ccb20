"""The columns of the care log: one for every detail and reading that an entry may hold."""

from collections.abc import Callable, Iterator, Sequence

from collection.care.rules import DETAILS
from collection.life.core.choices import fluid_types, fuel_grades
from collection.life.duties import DUTY_TITLES
from collection.spreadsheets.sheets.fields import (
    CHOICE,
    CLOCK,
    FLAG,
    MOMENT,
    NUMBER,
    TEXT,
    WHOLE,
    WORDS,
    Choices,
    Field,
    Kind,
    headings_at,
    names,
)
from scheduler.vocabulary.care import CARE
from scheduler.vocabulary.details import Choice, Detail, Flag, Number, Row, Text, Words
from scheduler.vocabulary.fluids import FLUIDS
from scheduler.vocabulary.quantities import QUANTITIES

HEAD = (
    Field("no", "No.", WHOLE, also=names("entry no|entry number")),
    Field("car.name", "Car", also=names("vehicle|car name|name|make and model|make model|which car")),
    Field(
        "car.registration",
        "Registration",
        also=names(
            "reg|reg no|reg number|registration number|number plate|plate|licence plate|license plate|vrm"
        ),
    ),
    Field("car.chassis_number", "Chassis number", also=names("chassis|vin|chassis no|vin number")),
    Field(
        "car.number",
        "Car number",
        WHOLE,
        also=names("car no|car id|our number|stock no|stock number|number|id"),
    ),
    Field(
        "done_at",
        "Done at",
        MOMENT,
        also=names(
            "date|when|done|done on|day|date done|datum|date of work|date checked|checked on|inspection date|timestamp|date/time|date time"
        ),
    ),
    Field("clock", "Time", CLOCK, also=names("time of day|hour|at")),
    Field(
        "kind",
        "Kind",
        also=names(
            "work|job|task|action|what|what was done|work done|activity|type|type of work|event|service|done what"
        ),
    ),
    Field(
        "by",
        "Done by",
        also=names(
            "by|who|initials|technician|mechanic|person|staff|carried out by|checked by|name of person|employee"
        ),
    ),
    Field(
        "note",
        "Note",
        also=names("notes|remarks|comments|comment|remark|observations|description|details|memo"),
    ),
)
FROM = "from_bay_label"  # filled in when a move is stored
# from an entry to another, by its number in the same table: which kind it then is
REFERENCES = {
    ask.key: ask.refers_to for row in CARE for ask in row.asks if isinstance(ask, Text) and ask.refers_to
}


def _grades() -> Choices:
    return tuple(fuel_grades())


def _types() -> Choices:
    return tuple(pair for fluid in FLUIDS for pair in fluid_types(fluid.code))


_CHOICES = {
    "grade": _grades,
    "type": _types,
    "duty": lambda: tuple(DUTY_TITLES.items()),
}


def _details() -> Iterator[Field]:
    """One column a key; what the kinds that share it say of its column is said by the first that does."""
    kinds: dict[str, list[Detail]] = {}
    for rules in DETAILS.values():
        for key, rule in rules.items():
            if not isinstance(rule, Row):
                kinds.setdefault(key, []).append(rule)
    for key, sharing in kinds.items():
        choices = _CHOICES.get(key) or _choices_of(sharing)
        first = next((rule for rule in sharing if rule.heading), sharing[0])
        unit = first.unit if isinstance(first, Number) else ""
        also = tuple(dict.fromkeys(name for rule in sharing for name in names(rule.also)))
        kind = CHOICE if choices else _type(key, sharing)
        yield Field(f"d.{key}", first.heading or first.label, kind, unit, also, choices)
    yield Field(f"d.{FROM}", "Moved from", also=names("from"))


def _type(key: str, rules: Sequence[Detail]) -> str:
    if key in REFERENCES:
        return WHOLE
    types = {Number: NUMBER, Flag: FLAG, Words: WORDS}
    kinds = {types.get(type(rule), TEXT) for rule in rules}
    return WORDS if WORDS in kinds else kinds.pop() if len(kinds) == 1 else TEXT


def _choices_of(rules: Sequence[Detail]) -> Callable[[], Choices] | None:
    """The words of a choice; where another kind takes free words for it, there is none."""
    pairs = dict.fromkeys(pair for rule in rules if isinstance(rule, Choice) for pair in rule.choices)
    return (lambda: tuple(pairs)) if pairs and all(isinstance(rule, Choice) for rule in rules) else None


def _readings() -> Iterator[Field]:
    for quantity in QUANTITIES:
        key = f"r.{quantity.code}"
        if not quantity.needs_position:
            yield Field(key, quantity.title, NUMBER, quantity.unit, names(quantity.also))
        for position in quantity.positions:
            also = headings_at(position, quantity.patterns)
            title = quantity.position_title.format(position.title)
            yield Field(f"{key}.{position.code}", title, NUMBER, quantity.unit, also)
        if quantity.everywhere:
            title, also = quantity.everywhere_title, names(quantity.everywhere_also)
            yield Field(f"{key}.all", title, NUMBER, quantity.unit, also)
    yield Field(
        "temperature_c",
        "Temperature",
        NUMBER,
        "°C",
        names("temp|air temperature|ambient|ambient temperature|air temp|outside temp"),
    )
    yield Field("rest_hours", "Rested for", NUMBER, "h", names("rest time|hours rested|rest hours"))
    yield Field("r.json", "Readings in full")


LOG = Kind("log", "Care log", (*HEAD, *_details(), *_readings()))
NEVER_WRITTEN = (
    "car.number",
    "clock",
    *(f"r.{quantity.code}.all" for quantity in QUANTITIES if quantity.everywhere),
)

# what people write where we have a kind: kind, and what that says beyond it
KIND_WORDS: dict[str, tuple[str, dict[str, object]]] = {
    word: (row.code, dict(phrase.says))
    for row in CARE
    for phrase in row.phrases
    for word in names(phrase.words)
}

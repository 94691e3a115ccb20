"""The columns of the care log: one for every detail and reading that an entry may hold."""

from collections.abc import Callable, Iterator

from collection.actions.care_rules import DETAILS, READINGS, Choice, Flag, Number, Words
from collection.bridge.choices import fluid_types, fuel_grades
from collection.models import CareKind, FluidKind, Quantity, TyrePosition
from collection.queries.duties import DUTY_TITLES
from collection.sheets.car_fields import wheel_names
from collection.sheets.fields import (
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
    names,
)

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
_WAY = {
    "hours": "h",
    "amps": "a",
    "minutes": "min",
    "distance_km": "km",
    "litres": "litres",
    "dose_ml": "ml",
    "bio_pct": "pct",
    "glycol_pct": "pct",
    "temperature_c": "c",
    "altitude_m": "m",
}
_LABEL = {
    "completed": "Charged in full",
    "hours": "On charge for",
    "state": "Maintainer",
    "litres": "Fuel",
    "type": "Fluid type",
    "grade": "Fuel grade",
    "bio_pct": "Ethanol or FAME",
    "glycol_pct": "Glycol",
    "ok": "Nothing wrong",
    "found": "Found",
    "system": "System",
    "value": "Step value",
    "unit": "Step unit",
    "temperature_c": "Measured at",
    "text": "System seen",
    "opened": "Takes off tag no.",
    "answers": "Answers no.",
    "reason": "Reason not done",
    "duty": "Work not done",
    "could_not": "Could not be done",
    "test": "Fault test",
    "outcome": "Fault test outcome",
    "check": "Waking step",
    "answer": "Waking step found",
    "instrument": "Measured with",
    "seen": "System looks",
    "hazard": "Hazard",
    "present": "Hazard there",
    "symptom": "Fault",
    "begun": "Search begun anew",
    "ratio": "Parts of fuel to one of stabiliser",
    "dose_ml": "Stabiliser dose",
    "emptied": "Tank emptied",
    "wheels_only": "Put back in the same place",
    "to_bay_label": "Moved to",
    "from_bay_label": "Moved from",
    "tag": "Tag",
    "where": "Tag where",
    "minutes": "Run for",
    "topped_up": "Topped up",
    "fluid": "Fluid",
    "driven": "Driven",
    "distance_km": "Distance",
    "reached_temperature": "Reached full temperature",
    "amps": "Charging current",
    "altitude_m": "Height above the sea",
    "logger": "Taken from the logger",
    "file_sha256": "SHA-256 of the logger's file",
}
_ALSO = {
    "minutes": "run time|engine run|minutes|ran for|running time|engine ran|duration",
    "hours": "charge time|hours charged|charge hours|hours on charge",
    "completed": "fully charged|charge complete|charged",
    "driven": "driven?|test drive|road test|drove",
    "distance_km": "miles driven|km driven|mileage driven|distance driven|trip",
    "reached_temperature": "warm|fully warm|up to temperature|reached temperature|hot",
    "litres": "litres|fuel added|gallons|fuel quantity|litres added|quantity of fuel|fuel litres|gallons added",
    "topped_up": "pumped up|inflated",
    "found": "faults|defects|faults found|problems|issues",
    "ok": "ok|all ok|pass|no faults",
    "to_bay_label": "moved to bay|new place|new bay|to",
    "from_bay_label": "from",
    "fluid": "which fluid",
    "type": "fluid grade",
    "state": "maintainer state",
    "reason": "why not",
    "dose_ml": "stabiliser|stabilizer|dose|additive",
}
_READ_ALSO = {
    Quantity.RESTED_VOLTS: "volts|voltage|battery volts|battery voltage|battery|rest volts|resting voltage|batt v|ocv|batt|battery v|open circuit volts",
    Quantity.SPECIFIC_GRAVITY: "sg|specific gravity|hydrometer",
    Quantity.CHARGING_VOLTS: "charging voltage|alternator volts|running volts|charge volts",
    Quantity.OIL_PRESSURE: "oil press|engine oil pressure",
    Quantity.BRAKE_WATER: "brake fluid water|brake moisture|brake fluid moisture|water in brake fluid|moisture",
    Quantity.COOLANT_FREEZE_POINT: "freeze point|antifreeze|coolant freeze point|freezing point|coolant protection|frost protection",
    Quantity.KEY_OFF_DRAIN: "drain|parasitic drain|key off drain|quiescent current|parasitic draw",
    Quantity.SURFACE_RH: "humidity|relative humidity|rh",
}
_READ_WAY = {
    Quantity.RESTED_VOLTS: "v",
    Quantity.CHARGING_VOLTS: "v",
    Quantity.OIL_PRESSURE: "kpa",
    Quantity.TYRE_PRESSURE: "kpa",
    Quantity.BRAKE_WATER: "pct",
    Quantity.COOLANT_FREEZE_POINT: "c",
    Quantity.KEY_OFF_DRAIN: "a",
    Quantity.SURFACE_RH: "pct",
}
REFERENCES = ("opened", "answers")  # of an entry to another: by its number in the same table


def _grades() -> Choices:
    return tuple(fuel_grades())


def _types() -> Choices:
    return tuple(pair for kind in FluidKind.values for pair in fluid_types(kind))


_CHOICES = {
    "grade": _grades,
    "type": _types,
    "fluid": lambda: tuple(FluidKind.choices),
    "duty": lambda: tuple(DUTY_TITLES.items()),
}


def _details() -> Iterator[Field]:
    rules = {key: rule for of in DETAILS.values() for key, rule in of.items() if key != "to_bay"}
    rules["from_bay_label"] = rules["to_bay_label"]
    for key, rule in rules.items():
        yield Field(
            f"d.{key}",
            _LABEL[key],
            _type(key, rule),
            _WAY.get(key, ""),
            names(_ALSO.get(key, "")),
            _CHOICES.get(key) or (_as_said(rule) if isinstance(rule, Choice) else None),
        )


def _type(key: str, rule: object) -> str:
    if key in REFERENCES:
        return WHOLE
    if isinstance(rule, Choice) or key in _CHOICES:
        return CHOICE
    if key == "found":
        return WORDS
    types = {Number: NUMBER, Flag: FLAG, Words: WORDS}
    return types.get(type(rule), TEXT)


def _as_said(rule: Choice) -> Callable[[], Choices]:
    pairs = tuple((word, word.replace("_", " ")) for word in rule.words)
    return lambda: pairs


def _readings() -> Iterator[Field]:
    for quantity, rule in READINGS.items():
        way = _READ_WAY.get(Quantity(quantity), "")
        if quantity == Quantity.TYRE_PRESSURE:
            for place in TyrePosition:
                also = wheel_names(
                    place.value,
                    "{}",
                    "{} pressure",
                    "{} psi",
                    "{} tyre",
                    "{} tire",
                    "tyre {}",
                    "tire {}",
                    "tyre pressure {}",
                    "tire pressure {}",
                    "{} tyre pressure",
                    "{} tire pressure",
                )
                yield Field(f"r.{quantity}.{place.value}", f"{place.label} tyre pressure", NUMBER, way, also)
            yield Field(
                f"r.{quantity}.all",
                "Tyre pressure, all four",
                NUMBER,
                way,
                names(
                    "tyre pressure|tyre pressures|tire pressure|tire pressures|tyres|tires|pressures|all tyres"
                ),
            )
            continue
        yield Field(f"r.{quantity}", rule.label, NUMBER, way, names(_READ_ALSO.get(Quantity(quantity), "")))
        if quantity == Quantity.SPECIFIC_GRAVITY:
            for cell in "123456":
                yield Field(
                    f"r.{quantity}.{cell}",
                    f"{rule.label}, cell {cell}",
                    NUMBER,
                    "",
                    names(f"sg {cell}|cell {cell}|sg cell {cell}|sg{cell}"),
                )
    yield Field(
        "temperature_c",
        "Temperature",
        NUMBER,
        "c",
        names("temp|air temperature|ambient|ambient temperature|air temp|outside temp"),
    )
    yield Field("rest_hours", "Rested for", NUMBER, "h", names("rest time|hours rested|rest hours"))
    yield Field("r.json", "Readings in full")


LOG = Kind("log", "Care log", (*HEAD, *_details(), *_readings()))
NEVER_WRITTEN = ("car.number", "clock", "r.tyre_pressure.all")

# what people write where we have a kind: kind, and what that says beyond it
_SAID: tuple[tuple[str, str, dict[str, object]], ...] = (
    (
        "charge|charged|battery charged|full charge|recharged|battery charge",
        CareKind.CHARGE,
        {"completed": True},
    ),
    ("part charge|partial charge|boost", CareKind.CHARGE, {"completed": False}),
    ("maintainer on|conditioner on|trickle charge on|on maintainer", CareKind.MAINTAINER, {"state": "on"}),
    ("maintainer off|conditioner off|off maintainer", CareKind.MAINTAINER, {"state": "off"}),
    ("battery check|battery test|voltage check|battery reading|volts", CareKind.BATTERY_READING, {}),
    ("run|run up|run-up|start|started|engine start|engine run|ran engine|started up", CareKind.RUN_UP, {}),
    ("drive|driven|road test|test drive|drove|exercised", CareKind.RUN_UP, {"driven": True}),
    ("stabiliser|stabilizer|stabiliser added|stabilizer added|fuel stabiliser", CareKind.STABILISER, {}),
    ("fuel|fuel added|refuelled|refueled|filled up|fuelled|fill up|topped up fuel", CareKind.FUEL_ADDED, {}),
    ("fuel drained|drained tank|tank drained|drained fuel", CareKind.FUEL_DRAINED, {"emptied": True}),
    (
        "oil change|oil changed|engine oil changed|oil and filter",
        CareKind.FLUID_CHANGED,
        {"fluid": "engine_oil"},
    ),
    ("coolant change|coolant changed|antifreeze changed", CareKind.FLUID_CHANGED, {"fluid": "coolant"}),
    (
        "brake fluid|brake fluid change|brake fluid changed|bled brakes",
        CareKind.FLUID_CHANGED,
        {"fluid": "brake_fluid"},
    ),
    ("gearbox oil|gearbox oil changed|gearbox oil change", CareKind.FLUID_CHANGED, {"fluid": "gearbox_oil"}),
    ("axle oil|diff oil|axle oil changed|diff oil changed", CareKind.FLUID_CHANGED, {"fluid": "axle_oil"}),
    ("fluid check|fluid test|fluid reading", CareKind.FLUID_READING, {}),
    (
        "tyres|tires|tyre pressures|tire pressures|tyre check|tyre pressure|tyre pressure check",
        CareKind.TYRE_PRESSURES,
        {},
    ),
    (
        "tyres inflated|tyres pumped|tyres topped up|inflated tyres",
        CareKind.TYRE_PRESSURES,
        {"topped_up": True},
    ),
    ("moved|move|relocated", CareKind.MOVED, {}),
    ("rolled|wheels turned|rotated wheels|turned wheels", CareKind.MOVED, {"wheels_only": True}),
    (
        "inspection|inspected|check|checked|visual check|walk round|walk-round|walkround",
        CareKind.INSPECTED,
        {},
    ),
    ("note|remark|comment|other", CareKind.NOTE, {}),
)
KIND_WORDS: dict[str, tuple[str, dict[str, object]]] = {
    word.strip(): (kind, details) for words, kind, details in _SAID for word in words.split("|")
}
# what an entry says where its row is silent: the least that its kind claims
SILENT: dict[str, dict[str, object]] = {
    CareKind.CHARGE: {"completed": False},
    CareKind.RUN_UP: {"reached_temperature": False, "driven": False},
    CareKind.FUEL_DRAINED: {"emptied": False},
    CareKind.MOVED: {"wheels_only": False},
}

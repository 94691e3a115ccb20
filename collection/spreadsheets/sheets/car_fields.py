"""The columns of a car's record: the same that its pages ask for."""

from collections.abc import Callable, Iterable, Iterator
from functools import partial

from collection.life.core.choices import chemistries, fluid_types, fuel_grades
from collection.models import Basis, LastEvent
from collection.spreadsheets.sheets.fields import (
    CHOICE,
    DATE,
    FLAG,
    NUMBER,
    WHOLE,
    Choices,
    Field,
    Kind,
    headings_at,
    names,
)
from scheduler.vocabulary import regimes as row
from scheduler.vocabulary.bodies import BODIES
from scheduler.vocabulary.fluids import FLUIDS
from scheduler.vocabulary.machine import BUILD
from scheduler.vocabulary.own_duties import OWN_KINDS
from scheduler.vocabulary.positions import TYRES

VOLTS: Choices = (("6", "6 V"), ("12", "12 V"), ("24", "24 V"))


def _volts() -> Choices:
    return VOLTS


def _of(rows: Iterable[row.Choice]) -> Callable[[], Choices]:
    """The choices of a column: other words that files may hold, then our own, which are written."""
    rows = tuple(rows)
    other = tuple((each.code, words) for each in rows for words in names(each.also))
    own = tuple((each.code, each.title) for each in rows)
    return lambda: (*other, *own)


CAR = (
    Field(
        "name",
        "Car",
        also=names(
            "name|vehicle|car name|description|make and model|make model|make/model|car description|automobile"
        ),
    ),
    Field("marque", "Make", also=names("marque|manufacturer|brand|marke|maker")),
    Field("model", "Model", also=names("type|model name|variant")),
    Field(
        "year",
        "Year of make",
        WHOLE,
        also=names("year|yr|model year|built|year built|year of manufacture|first registered year|dob"),
    ),
    Field(
        "body",
        "Kind of body",
        CHOICE,
        also=names("body|body type|body style|coachwork"),
        choices=_of(BODIES),
    ),
    Field(
        "registration",
        "Registration",
        also=names(
            "reg|reg no|reg number|registration no|registration number|number plate|plate|licence plate|license plate|license|vrm|index|index mark"
        ),
    ),
    Field(
        "chassis_number",
        "Chassis number",
        also=names("chassis|chassis no|vin|vin number|vin no|frame number|serial number|serial no"),
    ),
    Field(
        "owner", "Owner", also=names("client|customer|owner name|keeper|belongs to|name of owner|proprietor")
    ),
    Field(
        "place",
        "Bay",
        also=names("place|location|where|stands|position|parked|space|slot|storage location|storage place"),
    ),
    Field(
        "stored_since",
        "In storage since",
        DATE,
        also=names(
            "stored since|date in|in|storage start|arrived|arrival|arrival date|date of arrival|since|put away|laid up|laid up since|date stored|storage date|received"
        ),
    ),
    Field(
        "left_on",
        "Left storage on",
        DATE,
        also=names("date out|left|out|storage end|departed|collected|left on"),
    ),
    Field(
        "regime",
        "Care regime",
        CHOICE,
        also=names("regime|care|kept|how kept|storage type"),
        choices=_of(row.REGIMES),
    ),
    Field("engine", "Engine", also=names("engine type|motor|engine size|engine cc")),
    Field(
        "fuel_system",
        "Fuel system",
        CHOICE,
        also=names("carburettor|induction|fuelling|injection|carb or injection"),
        choices=_of(row.FUEL_SYSTEMS),
    ),
    Field(
        "system_volts",
        "Electrical system",
        CHOICE,
        "V",
        names("system volts|volts|voltage|system voltage|electrics|electrical"),
        _volts,
    ),
    Field(
        "tank_litres",
        "Tank holds",
        NUMBER,
        "litres",
        names("tank|tank size|tank capacity|fuel tank|fuel capacity|tank volume"),
    ),
    Field(
        "tank_material",
        "Tank material",
        CHOICE,
        also=names("tank made of"),
        choices=_of(row.TANK_MATERIALS),
    ),
    Field(
        "tank_venting",
        "Tank venting",
        CHOICE,
        also=names("venting|vent|tank vent|tank cap"),
        choices=_of(row.VENTINGS),
    ),
    *(
        Field(part.code, part.title, CHOICE, also=names(part.also), choices=_of(part.choices))
        for part in BUILD
    ),
    Field("on_stands", "On stands", FLAG, also=names("on axle stands|axle stands|stands|jacked up")),
    Field("notes", "Notes", also=names("note|remarks|comments|comment|remark|observations|memo")),
)
BATTERY = (
    Field(
        "battery.chemistry",
        "Battery",
        CHOICE,
        also=names("battery type|battery chemistry|chemistry|batt type"),
        choices=lambda: tuple(chemistries()),
    ),
    Field("battery.volts", "Battery volts", CHOICE, "V", names("battery voltage|batt volts"), _volts),
    Field(
        "battery.capacity_ah",
        "Battery capacity",
        NUMBER,
        "Ah",
        names("battery ah|capacity|ah|battery size|amp hours|batt ah|battery amp hours"),
    ),
    Field(
        "battery.made_on", "Battery made", DATE, also=names("battery date|battery made on|battery date code")
    ),
    Field(
        "battery.installed_on",
        "Battery installed",
        DATE,
        also=names(
            "battery fitted|battery install date|battery installed on|battery fitted on|new battery|battery new|battery age|battery replaced|battery bought"
        ),
    ),
    Field(
        "battery.isolated",
        "Isolator open",
        FLAG,
        also=names(
            "isolated|isolator|disconnected|battery disconnected|battery isolated|battery isolator|kill switch"
        ),
    ),
    Field(
        "battery.maintainer_since",
        "On a maintainer since",
        DATE,
        also=names(
            "maintainer since|maintainer|conditioner since|trickle since|on charger since|on trickle charger since"
        ),
    ),
    Field(
        "battery.drain_ma",
        "Battery key-off drain",
        NUMBER,
        "mA",
        names(
            "drain|key off drain|parasitic drain|quiescent current|dark current|parasitic draw|standby draw"
        ),
    ),
    Field("battery.full_sg", "Full-charge specific gravity", NUMBER, also=names("full sg|full charge sg")),
)
FUEL = (
    Field(
        "fuel.grade",
        "Fuel grade",
        CHOICE,
        also=names("fuel|fuel type|petrol|gasoline|grade"),
        choices=lambda: tuple(fuel_grades()),
    ),
    Field("fuel.bio_pct", "Ethanol or FAME", NUMBER, "%", names("ethanol|ethanol content|bio|biofuel")),
    Field(
        "fuel.litres",
        "In the tank",
        NUMBER,
        "litres",
        names(
            "fuel level|fuel in tank|fuel quantity|fuel litres|litres in tank|gallons in tank|fuel remaining|fuel amount"
        ),
    ),
    Field(
        "fuel.filled_on",
        "Fuel filled on",
        DATE,
        also=names(
            "filled|filled on|last filled|fuel date|last fill|fuel age|last refuelled|fuelled on|refuelled"
        ),
    ),
    Field(
        "fuel.stabilised_on",
        "Fuel stabilised on",
        DATE,
        also=names(
            "stabilised|stabilized|stabiliser added|stabilizer added|stabilised on|fuel stabiliser|fuel stabilizer|stabilizer|stabiliser"
        ),
    ),
    Field(
        "fuel.as_of", "Fuel found so on", DATE, also=names("as found on|fuel checked|as of|fuel checked on")
    ),
)


def _fluids() -> Iterator[Field]:
    for fluid in FLUIDS:
        types = partial(_types, fluid.code)
        yield Field(
            f"{fluid.code}.type", f"{fluid.title} type", CHOICE, also=names(fluid.type_also), choices=types
        )
        yield Field(
            f"{fluid.code}.changed_on", f"{fluid.title} last changed", DATE, also=names(fluid.changed_also)
        )
        if fluid.takes_glycol:
            yield Field(
                f"{fluid.code}.glycol_pct",
                f"{fluid.title} glycol",
                NUMBER,
                "%",
                names("glycol|antifreeze %|antifreeze strength|coolant strength|glycol %"),
            )


def _types(fluid: str) -> Choices:
    return tuple(fluid_types(fluid))


def _tyres() -> Iterator[Field]:
    for place in TYRES:
        codes = "{} date code|{} dot|{} tyre date|{} tire date|dot {}|date code {}|{} tyre code"
        yield Field(f"{place.code}.date_code", f"{place.title} date code", also=headings_at(place, codes))
        pressures = "{} placard|placard {}|{} placard pressure"
        yield Field(
            f"{place.code}.placard_kpa",
            f"{place.title} placard pressure",
            NUMBER,
            "kPa",
            headings_at(place, pressures),
        )
    yield Field(
        "tyres.date_code",
        "Tyre date code",
        also=names(
            "tyre date|tire date|dot|dot code|tyre dot|tire dot|tyre code|tyre age|tyres made|all tyres date code|tyre date code"
        ),
    )
    yield Field(
        "tyres.placard_kpa",
        "Placard pressure",
        NUMBER,
        "kPa",
        names("tyre pressure|tire pressure|placard|recommended pressure|pressure"),
    )


_LAST = {
    "road_use": "last driven|last road use|last used|last drive|last on road|last on the road",
    "engine_run": "last start|last started|last run|engine last run|last engine run|last engine start|started on",
    "full_warm": "last full warm run|last warm run|last warmed up",
    "moved": "last moved|last move",
    "attended": "last attended|last looked at|last seen|last inspected|last checked",
}


def _last() -> Iterator[Field]:
    for event in LastEvent:
        yield Field(
            f"last.{event.value}.on", f"Last {event.label.lower()}", DATE, also=names(_LAST[event.value])
        )
        yield Field(
            f"last.{event.value}.basis",
            f"Last {event.label.lower()}, how it is known",
            CHOICE,
            choices=lambda: tuple(Basis.choices),
        )


def _papers() -> Iterator[Field]:
    for kind in OWN_KINDS:
        if kind.also:
            yield Field(f"paper.{kind.code}", f"{kind.title} due on", DATE, also=names(kind.also))


CARS = Kind("cars", "Cars", (*CAR, *BATTERY, *FUEL, *_fluids(), *_tyres(), *_last(), *_papers()))
NEVER_WRITTEN = (
    "name",
    "tyres.date_code",
    "tyres.placard_kpa",
)  # read only: our own tables say each part by itself

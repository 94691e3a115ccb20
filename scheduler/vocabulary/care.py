"""The kinds of entry of a care log: what is asked for, in the order met at the car, and what each means."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from scheduler.vocabulary.details import Along, Choice, Detail, Flag, Number, Reading, Row, Text, Words
from scheduler.vocabulary.fluids import FLUIDS
from scheduler.vocabulary.tags import TAGGED_PARTS, TAGS

TANK_LITRES = 1000.0  # where the car's own tank is known, that is the limit


@dataclass(frozen=True, kw_only=True)
class Event:
    """A last time that an entry moves: always, or where all details ``when`` are true."""

    name: str
    when: tuple[str, ...] = ()


@dataclass(frozen=True, kw_only=True)
class Phrase:
    """Words that people write in a table for this kind, parted by strokes, and what they say beyond it."""

    words: str
    says: Mapping[str, object] = field(default_factory=dict)


@dataclass(frozen=True, kw_only=True)
class Care:
    """One kind.

    For people: ``topic`` groups the forms ("" where another page offers it), ``verb`` stands on the
    button, ``few`` are the fields on the round, ``off_paper`` those that a paper worksheet leaves out.
    ``attended``: somebody was at the car with tools or hands. ``events``: last times it moves.
    ``fuel``: the core's event of the tank. ``effect``: what else it means for the car's life, by the
    name of its reader. ``of_recommissioning``: it counts for a car that stood too long.
    ``note_required``: nothing without words. ``after_leaving``: also of a car that has left.
    ``phrases``: words of tables; ``silent``: what an entry says where its row is silent, the least that
    its kind claims. ``from_logger``: which part of a logger's file becomes such entries.
    ``example``: details with which the demo shows a kind that no story of it tells.
    """

    code: str
    title: str
    asks: tuple[Detail | Reading | Along, ...] = ()
    needs_reading: bool = False
    topic: str = ""
    verb: str = ""
    hint: str = ""
    few: tuple[str, ...] = ()
    off_paper: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    attended: bool = True
    events: tuple[Event, ...] = ()
    fuel: str = ""
    effect: str = ""
    of_recommissioning: bool = False
    note_required: bool = False
    after_leaving: bool = False
    phrases: tuple[Phrase, ...] = ()
    silent: Mapping[str, object] = field(default_factory=dict)
    from_logger: str = ""
    example: Mapping[str, object] = field(default_factory=dict)


# Of an entry taken from a logger's file or made by a sensor, so that a reader can tell and can check.
LOGGED = (
    Text(key="logger", label="Taken from the logger", limit=60, in_form=False, home=False),
    Text(
        key="file_sha256",
        label="SHA-256 of its file",
        limit=64,
        in_form=False,
        heading="SHA-256 of the logger's file",
        home=False,
    ),
)

CARE = (
    Care(
        code="charge",
        title="Battery charge",
        topic="Battery",
        verb="Log the charge",
        few=("rested_volts", "completed"),
        asks=(
            Reading(quantity="rested_volts", help="Before the charge, rested, nothing switched on."),
            Reading(quantity="specific_gravity", in_form=False),
            Flag(
                key="completed",
                no_is_silence=True,
                label="Charged in full",
                required=True,
                also="fully charged|charge complete|charged",
            ),
            Number(
                key="hours",
                label="On charge for",
                low=0,
                high=500,
                unit="h",
                also="charge time|hours charged|charge hours|hours on charge",
            ),
            Number(key="amps", label="Charging current", low=0, high=100, unit="A"),
            *LOGGED,
        ),
        cautions=("hydrogen",),
        effect="charged",
        phrases=(
            Phrase(
                words="charge|charged|battery charged|full charge|recharged|battery charge",
                says={"completed": True},
            ),
            Phrase(words="part charge|partial charge|boost", says={"completed": False}),
        ),
        silent={"completed": False},
        from_logger="charges",
    ),
    Care(
        code="maintainer",
        title="Maintainer on or off",
        topic="Battery",
        verb="Log the maintainer",
        asks=(
            Choice(
                key="state",
                label="Maintainer",
                asked="The maintainer is now",
                choices=(("on", "on"), ("off", "off"), ("lost_power", "found without power")),
                required=True,
                also="maintainer state",
            ),
            *LOGGED,
        ),
        cautions=("hydrogen",),
        effect="maintained",
        phrases=(
            Phrase(
                words="maintainer on|conditioner on|trickle charge on|on maintainer", says={"state": "on"}
            ),
            Phrase(words="maintainer off|conditioner off|off maintainer", says={"state": "off"}),
        ),
        from_logger="charges",
    ),
    Care(
        code="battery_reading",
        title="Battery reading",
        topic="Battery",
        verb="Log the reading",
        hint="Give what was measured; one value is enough. Rest the battery first, at best overnight.",
        asks=(
            Reading(quantity="rested_volts"),
            Along(key="rest_hours"),
            Along(key="temperature_c", asked="Battery temperature"),
            Reading(quantity="key_off_drain"),
            Reading(quantity="specific_gravity"),
            Reading(quantity="load_volts", help="Charged; half the cold-cranking amps, after 15 seconds."),
            Reading(quantity="cranking_share", help="By a tester, charged and not cold."),
            *LOGGED,
        ),
        needs_reading=True,
        cautions=("hydrogen",),
        phrases=(Phrase(words="battery check|battery test|voltage check|battery reading|volts"),),
        from_logger="readings",
    ),
    Care(
        code="run_up",
        title="Run-up",
        topic="Engine and moving",
        verb="Log the run-up",
        hint=(
            "It counts as a run-up when driven until fully warm. A short idle is logged, and does not count."
        ),
        few=("minutes", "driven", "reached_temperature", "distance_km", "charging_volts"),
        asks=(
            Number(
                key="minutes",
                label="Run for",
                low=0,
                high=600,
                unit="min",
                required=True,
                also="run time|engine run|minutes|ran for|running time|engine ran|duration",
            ),
            Flag(
                key="driven",
                no_is_silence=True,
                label="Driven",
                asked="Driven, not only stationary",
                required=True,
                also="driven?|test drive|road test|drove",
            ),
            Flag(
                key="reached_temperature",
                no_is_silence=True,
                label="Reached full temperature",
                required=True,
                also="warm|fully warm|up to temperature|reached temperature|hot",
            ),
            Number(
                key="distance_km",
                label="Distance",
                low=0,
                high=2000,
                unit="km",
                also="miles driven|km driven|mileage driven|distance driven|trip",
            ),
            Reading(quantity="charging_volts", help="Warm, at a fast idle."),
            Reading(quantity="oil_pressure", help="Warm, at idle."),
        ),
        cautions=("carbon_monoxide", "moving", "hot_cap"),
        events=(
            Event(name="engine_run"),
            Event(name="road_use", when=("driven",)),
            Event(name="moved", when=("driven",)),
            Event(name="full_warm", when=("driven", "reached_temperature")),
        ),
        effect="ran",
        phrases=(
            Phrase(words="run|run up|run-up|start|started|engine start|engine run|ran engine|started up"),
            Phrase(words="drive|driven|road test|test drive|drove|exercised", says={"driven": True}),
        ),
        silent={"reached_temperature": False, "driven": False},
    ),
    Care(
        code="stabiliser",
        title="Fuel stabiliser",
        topic="Fuel",
        verb="Log the stabiliser",
        few=("litres", "dose_ml"),
        asks=(
            Number(
                key="litres",
                label="Litres of fuel treated",
                asked="Fuel treated",
                low=0,
                high=TANK_LITRES,
                unit="litres",
                required=True,
                home=False,
            ),
            Number(
                key="dose_ml",
                label="Dose",
                low=0,
                high=5000,
                unit="ml",
                heading="Stabiliser dose",
                also="stabiliser|stabilizer|dose|additive",
            ),
            Number(
                key="ratio",
                label="Parts of fuel to one part of stabiliser",
                help="From the label: 500 means 1 part to 500.",
                low=1,
                high=10000,
                heading="Parts of fuel to one of stabiliser",
            ),
        ),
        cautions=("petrol_vapour", "additive"),
        fuel="stabilised",
        phrases=(Phrase(words="stabiliser|stabilizer|stabiliser added|stabilizer added|fuel stabiliser"),),
    ),
    Care(
        code="fuel_added",
        title="Fuel added",
        topic="Fuel",
        verb="Log the fuel",
        asks=(
            Number(
                key="litres",
                label="Litres added",
                asked="Added",
                low=0,
                high=TANK_LITRES,
                unit="litres",
                required=True,
                heading="Fuel",
                also=(
                    "litres|fuel added|gallons|fuel quantity|litres added|quantity of fuel|fuel litres|"
                    "gallons added"
                ),
            ),
            Text(key="grade", label="Grade", limit=20, heading="Fuel grade"),
            Number(
                key="bio_pct",
                label="Ethanol or FAME",
                help="Petrol: ethanol. Diesel: FAME. As on the pump.",
                low=0,
                high=100,
                unit="%",
            ),
            Choice(
                key="cold_class",
                label="Diesel for",
                help="Blank: as sold in its season.",
                choices=(("summer", "summer"), ("winter", "winter")),
                also="diesel grade|cold class",
            ),
        ),
        cautions=("petrol_vapour",),
        fuel="added",
        phrases=(
            Phrase(words="fuel|fuel added|refuelled|refueled|filled up|fuelled|fill up|topped up fuel"),
        ),
    ),
    Care(
        code="fuel_drained",
        title="Fuel drained",
        topic="Fuel",
        verb="Log the draining",
        few=("emptied", "litres"),
        asks=(
            Flag(key="emptied", no_is_silence=True, label="Tank emptied", required=True),
            Number(
                key="litres",
                label="Litres drained",
                asked="Drained",
                low=0,
                high=TANK_LITRES,
                unit="litres",
                home=False,
            ),
        ),
        cautions=("petrol_vapour",),
        fuel="drained",
        phrases=(
            Phrase(words="fuel drained|drained tank|tank drained|drained fuel", says={"emptied": True}),
        ),
        silent={"emptied": False},
    ),
    Care(
        code="diesel_additive",
        title="Winter additive in the diesel",
        topic="Fuel",
        verb="Log the additive",
        hint="Put it in while the diesel is clear: once it has waxed, an additive no longer helps.",
        asks=(
            Number(
                key="additive_ml",
                label="Additive",
                asked="Put in",
                low=0,
                high=5000,
                unit="ml",
                heading="Diesel additive",
            ),
        ),
        cautions=("additive",),
        fuel="cold_additive",
        phrases=(Phrase(words="diesel additive|winter additive|anti-gel|antigel|flow improver"),),
        example={"additive_ml": 100},
    ),
    Care(
        code="fluid_changed",
        title="Fluid changed",
        topic="Fluids",
        verb="Log the change",
        few=("fluid", "type", "glycol_pct"),
        asks=(
            Choice(
                key="fluid",
                label="Fluid",
                choices=tuple((fluid.code, fluid.title) for fluid in FLUIDS),
                required=True,
                also="which fluid",
            ),
            Text(key="type", label="Type", limit=30, heading="Fluid type", also="fluid grade"),
            Number(
                key="glycol_pct",
                label="Glycol by volume",
                help="Coolant only.",
                low=0,
                high=100,
                unit="%",
                heading="Glycol",
            ),
        ),
        cautions=("oil", "hot_cap", "coolant_poison", "brake_fluid", "raised"),
        effect="fluid_changed",
        phrases=tuple(
            Phrase(words=fluid.change_words, says={"fluid": fluid.code})
            for fluid in FLUIDS
            if fluid.change_words
        ),
    ),
    Care(
        code="fluid_reading",
        title="Fluid reading",
        topic="Fluids",
        verb="Log the reading",
        hint="Give what was measured; one value is enough.",
        asks=(
            Reading(quantity="brake_water"),
            Reading(quantity="brake_boiling_point", help="By a tester that boils a drop."),
            Reading(quantity="coolant_freeze_point", help="By refractometer."),
            Reading(quantity="coolant_ph", help="By test strip, coolant cold."),
        ),
        needs_reading=True,
        cautions=("hot_cap", "brake_fluid"),
        phrases=(Phrase(words="fluid check|fluid test|fluid reading"),),
    ),
    Care(
        code="fluid_checked",
        title="Fluid looked at",
        topic="Fluids",
        verb="Log the look",
        hint="Dipstick or filler plug, on level ground, engine cold.",
        few=("looked_at", "condition"),
        asks=(
            Choice(
                key="looked_at",
                label="Looked at",
                choices=tuple((fluid.code, fluid.title) for fluid in FLUIDS if fluid.by_looks),
                required=True,
                heading="Fluid looked at",
            ),
            Choice(
                key="condition",
                label="Condition",
                choices=(("good", "Clear, level right"), ("bad", "Dark, milky, low or smells of fuel")),
                required=True,
                heading="Fluid condition",
            ),
        ),
        cautions=("oil", "raised"),
        effect="fluid_checked",
        phrases=(
            Phrase(
                words="oil level ok|dipstick ok|oil looked at",
                says={"looked_at": "engine_oil", "condition": "good"},
            ),
        ),
        example={"looked_at": "gearbox_oil", "condition": "good"},
    ),
    Care(
        code="tyre_pressures",
        title="Tyre pressures",
        topic="Round the car",
        verb="Log the pressures",
        hint="As found, before topping up, tyres cold.",
        few=(
            "tyre_pressure_front_left",
            "tyre_pressure_front_right",
            "tyre_pressure_rear_right",
            "tyre_pressure_rear_left",
            "topped_up",
        ),
        asks=(
            Reading(
                quantity="tyre_pressure",
                asked="{}",
                positions=("front_left", "front_right", "rear_right", "rear_left", "spare"),
            ),
            Along(key="temperature_c", asked="Tyre temperature"),
            Flag(
                key="topped_up",
                no_is_silence=True,
                label="Topped up",
                asked="Topped up to the placard",
                also="pumped up|inflated",
            ),
            Reading(
                quantity="tyre_pressure_set",
                asked="{}, set to",
                positions=("front_left", "front_right", "rear_right", "rear_left", "spare"),
            ),
            *LOGGED,
        ),
        needs_reading=True,
        cautions=("tyres",),
        effect="topped_up",
        phrases=(
            Phrase(
                words=(
                    "tyres|tires|tyre pressures|tire pressures|tyre check|tyre pressure|tyre pressure check"
                )
            ),
            Phrase(
                words="tyres inflated|tyres pumped|tyres topped up|inflated tyres", says={"topped_up": True}
            ),
        ),
    ),
    Care(
        code="moved",
        title="Moved",
        topic="Engine and moving",
        verb="Log the move",
        few=("place",),
        off_paper=("place",),
        asks=(
            Flag(key="wheels_only", no_is_silence=True, label="Put back in the same place", required=True),
            Row(key="to_bay", label="New bay"),
            Text(
                key="to_bay_label",
                label="New place",
                limit=100,
                heading="Moved to",
                also="moved to bay|new place|new bay|to",
            ),
        ),
        cautions=("moving",),
        events=(Event(name="moved"),),
        phrases=(
            Phrase(words="moved|move|relocated"),
            Phrase(words="rolled|wheels turned|rotated wheels|turned wheels", says={"wheels_only": True}),
        ),
        silent={"wheels_only": False},
    ),
    Care(
        code="inspected",
        title="Inspected",
        topic="Round the car",
        verb="Log the inspection",
        few=("found", "other", "surface_rh"),
        off_paper=("other",),
        asks=(
            Flag(key="ok", label="Nothing wrong", required=True, also="ok|all ok|pass|no faults"),
            Words(key="found", label="Found", also="faults|defects|faults found|problems|issues"),
            Reading(quantity="surface_rh"),
        ),
        cautions=("rodents",),
        events=(Event(name="inspected"),),
        phrases=(
            Phrase(words="inspection|inspected|check|checked|visual check|walk round|walk-round|walkround"),
        ),
    ),
    Care(
        code="tag_opened",
        title="Warning tag on",
        topic="Tags",
        verb="Put the tag on",
        asks=(
            Choice(
                key="tag", label="Tag", choices=tuple((tag.code, tag.title) for tag in TAGS), required=True
            ),
            Choice(
                key="system",
                label="System",
                asked="Which part of the car",
                help="For a part taken out or a fluid drained: it decides what the tag forbids.",
                choices=tuple((part.code, part.title) for part in TAGGED_PARTS),
                home=False,
            ),
            Text(
                key="where",
                label="Where on the car",
                asked="What and where",
                help="Sump drained, plug in the door.",
                limit=100,
                required=True,
                heading="Tag where",
            ),
        ),
        cautions=("tagged",),
        attended=False,
        effect="tag_on",
        phrases=(Phrase(words="tag hung"),),
    ),
    Care(
        code="tag_closed",
        title="Warning tag off",
        topic="Tags",
        verb="Take the tag off",
        asks=(
            Text(
                key="opened",
                label="Tag taken off",
                asked="Which tag",
                limit=36,
                refers_to="tag_opened",
                required=True,
                heading="Takes off tag no.",
            ),
        ),
        cautions=("tagged",),
        attended=False,
        effect="tag_off",
        phrases=(Phrase(words="tag taken off"),),
    ),
    Care(
        code="not_done",
        title="Not done",
        topic="In words",
        verb="Log as not done",
        few=("duty", "reason", "words"),
        asks=(
            Text(key="duty", label="Work", limit=20, required=True, heading="Work not done"),
            Text(
                key="reason",
                label="Reason",
                limit=200,
                required=True,
                heading="Reason not done",
                also="why not",
            ),
        ),
        attended=False,
    ),
    Care(
        code="waking_result",
        title="Recommissioning step",
        verb="Log the result",
        few=("value", "unit", "answer", "could_not", "temperature_c", "altitude_m", "instrument"),
        asks=(
            Text(
                key="check",
                label="Step",
                limit=40,
                required=True,
                heading="Recommissioning step",
                also="waking step",
                home=False,
            ),
            Number(key="value", label="Value", low=-1e6, high=1e6, heading="Step value", home=False),
            Text(key="unit", label="Unit", limit=12, heading="Step unit", home=False),
            Text(
                key="answer",
                label="Found",
                limit=60,
                heading="Recommissioning step found",
                also="waking step found",
                home=False,
            ),
            Text(key="could_not", label="Could not be done", limit=200, home=False),
            Text(key="instrument", label="With", limit=60, heading="Measured with", home=False),
            Number(
                key="temperature_c",
                label="At",
                low=-60,
                high=80,
                unit="°C",
                heading="Measured at",
                home=False,
            ),
            Number(key="altitude_m", label="Height above the sea", low=-400, high=5000, unit="m", home=False),
        ),
        of_recommissioning=True,
        phrases=(Phrase(words="waking step"),),
    ),
    Care(
        code="system_seen",
        title="System looked at",
        verb="Log what was seen",
        asks=(
            Text(key="system", label="System", limit=30, required=True, home=False),
            Choice(
                key="seen",
                label="Looks",
                asked="It looks",
                choices=(("faulty", "faulty"), ("good", "good")),
                required=True,
                heading="System looks",
                home=False,
            ),
            Text(
                key="text",
                label="Seen",
                asked="What was seen",
                limit=200,
                required=True,
                heading="System seen",
                home=False,
            ),
        ),
        of_recommissioning=True,
    ),
    Care(
        code="hazard",
        title="Hazard seen or gone",
        verb="Log it",
        asks=(
            Text(key="hazard", label="Hazard", limit=40, required=True, home=False),
            Flag(key="present", label="There", required=True, heading="Hazard there", home=False),
        ),
        of_recommissioning=True,
    ),
    Care(
        code="fault_test",
        title="Fault test",
        verb="Log the test",
        few=("outcome", "could_not"),
        asks=(
            Text(key="symptom", label="Fault", limit=40, required=True, home=False),
            Flag(key="begun", label="Search begun anew", home=False),
            Text(key="test", label="Test", limit=40, heading="Fault test", home=False),
            Text(key="outcome", label="Came out", limit=40, heading="Fault test outcome", home=False),
            Text(key="could_not", label="Could not be done", limit=200, home=False),
        ),
        of_recommissioning=True,
    ),
    Care(
        code="own_duty",
        title="Own duty done",
        topic="Papers and own duties",
        verb="Log it done",
        few=("own",),
        asks=(
            Text(key="own", label="Which", limit=20, required=True, heading="Own duty no.", home=False),
            Text(key="what", label="What", limit=60, in_form=False, heading="Own duty", home=False),
        ),
        attended=False,
    ),
    Care(code="withdrawn", title="Entry withdrawn", verb="Withdraw the entry"),
    Care(
        code="note",
        title="Note",
        topic="In words",
        verb="Keep the note",
        asks=(
            Text(key="found", label="Found, to be seen to", limit=60, in_form=False, home=False),
            Text(
                key="answers",
                label="What was found before and is seen to",
                limit=36,
                refers_to="note",
                in_form=False,
                heading="Answers no.",
                home=False,
            ),
            *LOGGED,
        ),
        attended=False,
        note_required=True,
        after_leaving=True,
        phrases=(Phrase(words="note|remark|comment|other"),),
        from_logger="falls",
    ),
)
KIND = {row.code: row for row in CARE}

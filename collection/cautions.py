"""What can hurt somebody at each kind of work: said on the screen and on paper, at that step.

A reminder for people who know the work, never an instruction to do it.
"""

from dataclasses import dataclass

from collection.models import CareKind

DEFER = "The car's handbook, local codes and licensed practice come first."
COMMON = "common practice"
PUBLISHED = "published"


@dataclass(frozen=True)
class Caution:
    """One hazard: what to mind, where that is from, and how well it is founded."""

    key: str
    title: str
    text: str
    source: str
    standing: str


HYDROGEN = Caution(
    "hydrogen",
    "Hydrogen and acid",
    "A battery on charge gives off a gas that explodes. Air the place, no flame or spark, switch the charger "
    "off before clipping on or off. Eye protection and gloves; rings and metal off. Never charge a "
    "frozen battery: let it thaw in a warm room first.",
    "UK HSE INDG139; US Army OD1002 for frozen batteries",
    PUBLISHED,
)
CARBON_MONOXIDE = Caution(
    "carbon_monoxide",
    "Carbon monoxide",
    "Run an engine outdoors or with extraction on the tailpipe. An open door is not enough: the gas cannot "
    "be seen or smelt and kills within minutes.",
    "US NIOSH, immediate danger level, 1994; Iowa State University, as quoted, for the open door",
    PUBLISHED,
)
PETROL_VAPOUR = Caution(
    "petrol_vapour",
    "Petrol vapour",
    "Petrol vapour is heavier than air, gathers in pits and drains, and burns from one spark. Work in the "
    "open air or well aired, never over a pit; no lamp, heater or switch near. Drain with a fuel retriever "
    "into a proper container. Old fuel is hazardous waste.",
    "UK HSE and WISH guidance WASTE 10, 2015",
    PUBLISHED,
)
ADDITIVE = Caution(
    "additive",
    "Stabiliser is a chemical",
    "Gloves and eye protection; dose by the label of the bottle. Treat fresh fuel, then circulate it.",
    "the bottle's label and safety sheet",
    COMMON,
)
HOT_CAP = Caution(
    "hot_cap",
    "Hot cooling system",
    "Never open the cap while the engine is hot: boiling coolant sprays out. Wait until the hose is cold.",
    "vehicle makers' handbooks",
    COMMON,
)
COOLANT_POISON = Caution(
    "coolant_poison",
    "Coolant is poison",
    "It tastes sweet and kills children and animals. Catch it all in its own marked can; "
    "none to ground or drain.",
    "US EPA Region 2 and Kentucky DEP, used antifreeze",
    PUBLISHED,
)
BRAKE_FLUID = Caution(
    "brake_fluid",
    "Brakes",
    "Fluid strips paint and harms eyes: gloves, goggles, rinse spills at once. Never mix silicone with "
    "glycol fluid. The car does not move until a person licensed or trained for brakes has proved the pedal.",
    "fluid makers' labels",
    COMMON,
)
RAISED = Caution(
    "raised",
    "Raised vehicle",
    "Never under a car on a jack alone: rated stands, inspected each year, on a hard level floor, "
    "the other wheels chocked.",
    "UK HSE INDG434",
    PUBLISHED,
)
OIL = Caution(
    "oil",
    "Hot and used oil",
    "Hot oil burns and used oil harms the skin: gloves, let it cool. Collect it unmixed and hand it in.",
    "US EPA Region 2, used oil",
    PUBLISHED,
)
MOVING = Caution(
    "moving",
    "Moving a car",
    "Prove the brakes first, or have chocks and a second person at hand. Nobody between cars or on the slope "
    "below. Read every tag on the car before a hand is laid on it.",
    "trade custom",
    COMMON,
)
TYRES = Caution(
    "tyres",
    "Inflating tyres",
    "Stand to the side of the wheel, gauge on a long hose. A tyre with cords, bulges or deep cracks, or one "
    "that stood flat, is not inflated on the car: leave it to a tyre fitter.",
    "trade custom",
    COMMON,
)
RODENTS = Caution(
    "rodents",
    "Droppings and mould",
    "Open up and leave for 30 minutes. Gloves; soak droppings with bleach 1:9 for 5 minutes, wipe, bag. "
    "Never sweep or vacuum them.",
    "US CDC, cleaning up after rodents",
    PUBLISHED,
)
TAGGED = Caution(
    "tagged",
    "A tag is an order",
    "Hang it where the hand must pass it: at the key, the filler, the start control. Take it off only when "
    "what it names has been put right and looked at.",
    "US Army TM 9-2330-235-14&P, caution tags",
    PUBLISHED,
)

CAUTIONS: dict[str, tuple[Caution, ...]] = {
    CareKind.CHARGE: (HYDROGEN,),
    CareKind.MAINTAINER: (HYDROGEN,),
    CareKind.BATTERY_READING: (HYDROGEN,),
    CareKind.RUN_UP: (CARBON_MONOXIDE, MOVING, HOT_CAP),
    CareKind.STABILISER: (PETROL_VAPOUR, ADDITIVE),
    CareKind.FUEL_ADDED: (PETROL_VAPOUR,),
    CareKind.FUEL_DRAINED: (PETROL_VAPOUR,),
    CareKind.FLUID_CHANGED: (OIL, HOT_CAP, COOLANT_POISON, BRAKE_FLUID, RAISED),
    CareKind.FLUID_READING: (HOT_CAP, BRAKE_FLUID),
    CareKind.TYRE_PRESSURES: (TYRES,),
    CareKind.MOVED: (MOVING,),
    CareKind.INSPECTED: (RODENTS,),
    CareKind.TAG_OPENED: (TAGGED,),
    CareKind.TAG_CLOSED: (TAGGED,),
}
# One kind of entry that covers several works, by the name of the duty.
BY_DUTY: dict[str, tuple[Caution, ...]] = {
    "engine_oil": (OIL, RAISED),
    "gearbox_oil": (OIL, RAISED),
    "axle_oil": (OIL, RAISED),
    "coolant": (HOT_CAP, COOLANT_POISON),
    "brake_fluid": (BRAKE_FLUID, RAISED),
}


def cautions_for(kind: str, duty: str = "") -> tuple[Caution, ...]:
    """The cautions of a kind of entry, or closer to the work where the duty is known."""
    if duty in BY_DUTY:
        return BY_DUTY[duty]
    return CAUTIONS.get(kind, ())

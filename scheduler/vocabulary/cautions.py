"""What can hurt somebody at each kind of work: said on the screen and on paper, at that step.

A reminder for people who know the work, never an instruction to do it.
"""

from dataclasses import dataclass

DEFER = "The car's handbook, local codes and licensed practice come first."
COMMON = "common practice"
PUBLISHED = "published"


@dataclass(frozen=True, kw_only=True)
class Caution:
    """One hazard: its text, where that is from, and how well it is founded."""

    key: str
    title: str
    text: str
    source: str
    standing: str


CAUTIONS = (
    Caution(
        key="hydrogen",
        title="Hydrogen and acid",
        text=(
            "A battery on charge gives off a gas that explodes. Air the place, no flame or spark, "
            "switch the charger off before clipping on or off. Eye protection and gloves; rings and "
            "metal off. Never charge a frozen battery: let it thaw in a warm room first."
        ),
        source="UK HSE INDG139; US Army OD1002 for frozen batteries",
        standing=PUBLISHED,
    ),
    Caution(
        key="carbon_monoxide",
        title="Carbon monoxide",
        text=(
            "Run an engine outdoors or with extraction on the tailpipe. An open door is not enough: the"
            " gas cannot be seen or smelt and kills within minutes."
        ),
        source=(
            "US NIOSH, immediate danger level, 1994; Iowa State University, as quoted, for the open door"
        ),
        standing=PUBLISHED,
    ),
    Caution(
        key="petrol_vapour",
        title="Petrol vapour",
        text=(
            "Petrol vapour is heavier than air, gathers in pits and drains, and burns from one spark. "
            "Work in the open air or well aired, never over a pit; no lamp, heater or switch near. "
            "Drain with a fuel retriever into a proper container. Old fuel is hazardous waste."
        ),
        source="UK HSE and WISH guidance WASTE 10, 2015",
        standing=PUBLISHED,
    ),
    Caution(
        key="additive",
        title="Stabiliser is a chemical",
        text=(
            "Gloves and eye protection; dose by the label of the bottle. Treat fresh fuel, then circulate it."
        ),
        source="the bottle's label and safety sheet",
        standing=COMMON,
    ),
    Caution(
        key="hot_cap",
        title="Hot cooling system",
        text=(
            "Never open the cap while the engine is hot: boiling coolant sprays out. Wait until the "
            "hose is cold."
        ),
        source="vehicle makers' handbooks",
        standing=COMMON,
    ),
    Caution(
        key="coolant_poison",
        title="Coolant is poison",
        text=(
            "It tastes sweet and kills children and animals. Catch it all in its own marked can; none "
            "to ground or drain."
        ),
        source="US EPA Region 2 and Kentucky DEP, used antifreeze",
        standing=PUBLISHED,
    ),
    Caution(
        key="brake_fluid",
        title="Brakes",
        text=(
            "Fluid strips paint and harms eyes: gloves, goggles, rinse spills at once. Never mix "
            "silicone with glycol fluid. The car does not move until a person licensed or trained for "
            "brakes has proved the pedal."
        ),
        source="fluid makers' labels",
        standing=COMMON,
    ),
    Caution(
        key="raised",
        title="Raised vehicle",
        text=(
            "Never under a car on a jack alone: rated stands, inspected each year, on a hard level "
            "floor, the other wheels chocked."
        ),
        source="UK HSE INDG434",
        standing=PUBLISHED,
    ),
    Caution(
        key="oil",
        title="Hot and used oil",
        text=(
            "Hot oil burns and used oil harms the skin: gloves, let it cool. Collect it unmixed and "
            "hand it in."
        ),
        source="US EPA Region 2, used oil",
        standing=PUBLISHED,
    ),
    Caution(
        key="moving",
        title="Moving a car",
        text=(
            "Prove the brakes first, or have chocks and a second person at hand. Nobody between cars or"
            " on the slope below. Read every tag on the car before a hand is laid on it."
        ),
        source="trade custom",
        standing=COMMON,
    ),
    Caution(
        key="tyres",
        title="Inflating tyres",
        text=(
            "Stand to the side of the wheel, gauge on a long hose. A tyre with cords, bulges or deep "
            "cracks, or one that stood flat, is not inflated on the car: leave it to a tyre fitter."
        ),
        source="trade custom",
        standing=COMMON,
    ),
    Caution(
        key="rodents",
        title="Droppings and mould",
        text=(
            "Open up and leave for 30 minutes. Gloves; soak droppings with bleach 1:9 for 5 minutes, "
            "wipe, bag. Never sweep or vacuum them."
        ),
        source="US CDC, cleaning up after rodents",
        standing=PUBLISHED,
    ),
    Caution(
        key="tagged",
        title="A tag is an order",
        text=(
            "Hang it where the hand must pass it: at the key, the filler, the start control. Take it "
            "off only when what it names has been put right and looked at."
        ),
        source="US Army TM 9-2330-235-14&P, caution tags",
        standing=PUBLISHED,
    ),
)
CAUTION = {row.key: row for row in CAUTIONS}

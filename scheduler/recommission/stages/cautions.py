"""The cautions as published, said at the step where they count; local codes come first."""

from scheduler.vocabulary.cited import memory, practice, published

LOCAL = "Local codes and licensed practice come first."
PETROL = (
    "Petrol vapour is heavier than air, gathers in pits and drains and burns at 1 to 8 % in air: open air or "
    f"strong ventilation, no pit, no flame, spark or lead lamp, extinguisher at hand (HSE). {LOCAL}"
)
DRAINING = (
    "Most trade petrol fires come from draining: a fuel retriever, a plan, trained people; never a "
    f"pick and bucket (HSE/WISH WASTE 10). {LOCAL}"
)
NO_AIR = "No compressed air into a tank: it ruptures and drives out vapour (from memory, unverified)."
NO_HOT_WORK = "Never weld or heat a tank: a teaspoon of petrol can explode a drum (HSE INDG314)."
RAISED = (
    "Never under a car on jacks alone: sound rated stands on hard level floor, the rest chocked (HSE "
    "INDG434)."
)
HYDROGEN = "Charging batteries give off hydrogen: ventilate, no sparks, eye protection, gloves (HSE INDG139)."
CO = (
    "Carbon monoxide kills: never run it in a building with the door merely open; outdoors or with the "
    "exhaust drawn off."
)
LININGS = "Take old linings for asbestos: wet method, no dry brush, no air line (OSHA 1910.1001 App. F)."
DROPPINGS = (
    "Open up and leave 30 minutes; gloves; soak with bleach 1:9 for 5 minutes; never sweep or vacuum (US "
    "CDC)."
)
COOLANT = "Coolant is sweet and poisons children and pets: own container, no drain. Never open a hot cap."
MOVING = "Nobody in front of or behind the car; chocks in hand; it may lurch."
HANDS_CLEAR = "Fuel and ignition off, hands, sleeves and tools clear of fan and belts."
TURNING = "Engine turning: hands, hair, sleeves and tools clear of fan and belts."
RUNAWAY_VOLTS = "Moments only: voltage runs away and kills lamps and battery."
DIESEL = f"Diesel on skin: gloves; on hot parts and rags it burns. {LOCAL}"
JET = "A high-pressure jet pierces skin: look with a card, never a hand; eye protection; a doctor at once."
USED_OIL = "Gloves; used oil and old fuel go apart to a collection point."

WORKSHOP = practice("workshop practice on cars that have stood")
RECALLED = memory("workshop practice")
BRAKES_570 = published("49 CFR 570.55 (over 10,000 lb; lighter cars 570.5, from memory)")
CAR_MAKERS = published("car makers' workshop tables")

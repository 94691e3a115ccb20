"""How a car is kept, what it is built with and where it stands: what the record lets one choose."""

from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True)
class Choice:
    """One thing to choose. ``also``: words that tables brought in may say instead, parted by strokes."""

    code: str
    title: str
    also: str = ""


REGIMES = (
    Choice(
        code="exercised",
        title="Kept running: run up under load",
        also="kept running|Exercised: run up under load",
    ),
    Choice(
        code="preserved",
        title="Laid up (preserved): inhibited, tagged, never started",
        also="laid up|Preserved: inhibited, tagged, never started",
    ),
    Choice(
        code="dormant",
        title="Stood, history unknown: nothing may be assumed",
        also="stood, history unknown|Dormant: stood unrecorded, nothing may be assumed",
    ),
)
FUEL_SYSTEMS = (
    Choice(code="carburettor", title="Carburettor"),
    Choice(code="mechanical_injection", title="Mechanical injection"),
    Choice(code="electronic_injection", title="Electronic injection"),
    Choice(code="diesel", title="Diesel"),
)
VENTINGS = (
    Choice(code="open", title="Open vent"),  # to the air
    Choice(code="capped", title="Vented cap"),  # with a small breather
    Choice(code="sealed", title="Closed vapour system"),
)
TANK_MATERIALS = (
    Choice(code="bare_steel", title="Bare steel"),
    Choice(code="coated_steel", title="Coated steel"),
    Choice(code="aluminium", title="Aluminium"),
    Choice(code="plastic", title="Plastic"),
    Choice(code="grp", title="Glass-fibre resin"),
)
SHELTERS = (
    Choice(code="open", title="Open yard"),
    Choice(code="covered", title="Covered, open sides"),
    Choice(code="enclosed", title="Enclosed, unheated"),
    Choice(code="heated", title="Enclosed and heated"),
    Choice(code="humidity_controlled", title="Humidity controlled"),
)

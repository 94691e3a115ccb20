"""What is brought on the round, in the order of the list; trade custom."""

from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True)
class Kit:
    """``each``: counted, one a task; ``one_a_car``: counted once a car; neither: brought once for all.

    ``needs_outlet``: the list says at how many bays there is none. ``dose``: the detail of the last
    entry that says how much this car takes.
    """

    code: str
    title: str
    each: bool = False
    one_a_car: bool = False
    needs_outlet: bool = False
    dose: str = ""


KIT = (
    Kit(code="charger", title="charger", each=True, needs_outlet=True),
    Kit(code="engine_oil", title="filling of engine oil, with filter", each=True),
    Kit(code="coolant", title="filling of coolant", each=True),
    Kit(code="brake_fluid", title="bottle of brake fluid, unopened", each=True),
    Kit(code="gearbox_oil", title="filling of gearbox oil", each=True),
    Kit(code="axle_oil", title="filling of axle oil", each=True),
    Kit(code="key", title="car key", one_a_car=True),
    Kit(code="stabiliser", title="dose of stabiliser", each=True, dose="dose_ml"),
    Kit(code="voltmeter", title="voltmeter"),
    Kit(code="gloves", title="eye protection and gloves"),
    Kit(code="extraction_hose", title="extraction hose for the tailpipe"),
    Kit(code="chocks", title="wheel chocks"),
    Kit(code="fuel_retriever", title="fuel retriever and marked cans"),
    Kit(code="extinguisher", title="fire extinguisher"),
    Kit(code="drain_tray", title="drain tray and marked can"),
    Kit(code="bleeding_kit", title="bleeding kit"),
    Kit(code="tyre_gauge", title="pressure gauge and inflator"),
    Kit(code="torch", title="torch"),
)

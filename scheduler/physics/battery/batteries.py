"""Storage batteries by chemistry: how full they look, how they leak, how they age and charge.

To add a chemistry, add a row with its sources to ``BATTERIES`` (before the last, "unknown").
Voltages are those of a 12 V battery; a 6 V battery has half, a 24 V one twice
(EN 50342-1:2015, scope: "all referenced voltages need to be divided by two for 6 V").
"""

from dataclasses import dataclass

from scheduler.physics.battery.ageing import (
    ANTIMONY_FASTER,
    CALCIUM_FASTER,
    GEL_FASTER,
    HYBRID_FASTER,
    NOT_FASTER,
)
from scheduler.physics.battery.sulphation import AGM_WEEKS, FLOODED_WEEKS, GEL_WEEKS, NO_SULPHATE
from scheduler.vocabulary.constants import Constant, Standing

_BCI = "BCI open-circuit voltage and specific gravity table at 80 °F; TM 5-4210-230-14&P-1 Table 2"
_COMPENSATED = "public temperature-compensated state-of-charge tables (wet and gel), 0 to 100 °F"
_ARMY_AGM = "US Army TM 9-6115-730-24 WP 0050; vehicle maker's AGM table"
_LFP_SET = "Prada et al. 2013 LiFePO4 parameter set, open-circuit voltage computed for four cells"


@dataclass(frozen=True)
class OpenCircuit:
    """Rested volts (12 V battery) at rising shares of charge; ``acid`` adds the acid's temperature shift."""

    soc: tuple[float, ...]
    volts: tuple[float, ...]
    acid: bool
    source: str
    standing: Standing


QUARTERS = (0.0, 0.25, 0.5, 0.75, 1.0)
WET = OpenCircuit(QUARTERS, (11.89, 12.06, 12.24, 12.45, 12.65), True, _BCI, Standing.PUBLISHED)
AGM = OpenCircuit(QUARTERS, (11.80, 12.00, 12.30, 12.60, 12.80), True, _ARMY_AGM, Standing.PUBLISHED)
GEL = OpenCircuit(QUARTERS, (11.80, 12.00, 12.40, 12.60, 12.80), True, _COMPENSATED, Standing.PUBLISHED)
LFP = OpenCircuit(
    (0.0, 0.05, 0.10, 0.20, 0.25, 0.30, 0.40, 0.50, 0.60, 0.70, 0.75, 0.80, 0.90, 0.95, 0.99),
    (8.00, 11.14, 11.91, 12.67, 12.74, 12.82, 13.01, 13.06, 13.07, 13.10, 13.17, 13.24, 13.26, 13.27, 13.66),
    False,
    _LFP_SET,
    Standing.COMPUTED,
)

# How rested volts of lead-acid (12 V) move with temperature, the same at every state of charge:
# rows of the compensated table less its 80 °F row.
SHIFT_TEMP_C = (-17.8, -12.2, -6.7, -1.1, 4.4, 10.0, 15.6, 21.1, 26.7, 37.8)
SHIFT_V = (-0.134, -0.108, -0.084, -0.062, -0.044, -0.028, -0.016, -0.007, 0.0, 0.008)

# Specific gravity at 80 °F against charge, for the usual fill and for the strong fill.
SG_USUAL = (1.120, 1.155, 1.190, 1.225, 1.265)
SG_STRONG = (1.130, 1.190, 1.220, 1.250, 1.280)
FULL_SG_USUAL = Constant(1.265, "1", _BCI, Standing.PUBLISHED)
FULL_SG_STRONG = Constant(1.280, "1", "US Army TM 5-1185 Table II", Standing.PUBLISHED)


@dataclass(frozen=True)
class Battery:
    """One chemistry. ``lead``: acid in water, so it freezes and sulphates. ``vented``: has filler caps."""

    name: str
    label: str
    word: str  # what a sentence calls it: "this 60 Ah calcium battery"
    lead: bool
    vented: bool
    cells_of_12v: int
    open_circuit: OpenCircuit
    self_discharge: Constant  # share of capacity lost in 30 days at 25 °C
    leaks_faster: tuple[float, ...]  # times that, at the ages of ``ageing.AGES``
    hardens: Constant  # weeks flat at 25 °C after which about two thirds of its capacity are lost for good
    interval: Constant  # days between refreshing charges whatever the volts say
    hot_interval: Constant  # the same where the mean is above 27 °C
    life: Constant  # years of service at 25 °C to 80 % of rated capacity
    charge_factor: Constant  # ampere-hours put in for each ampere-hour given back
    energy_efficiency: Constant  # watt-hours got out for each put in
    float_v: Constant | None  # volts a cell at 25 °C on a maintainer; None: no float
    gas_float: Constant  # mA of gassing current for each Ah on float
    gas_boost: Constant  # the same on boost charge


def _lost(value: float, low: float, high: float, source: str) -> Constant:
    return Constant(value, "1/30 d", source, Standing.PUBLISHED, low, high)


def _days(value: float, source: str, standing: Standing = Standing.PUBLISHED) -> Constant:
    return Constant(value, "d", source, standing)


_LIFE = "planning ages of the trade; BCI failure studies give a mean of 55 months for flooded (2010)"
_FLOODED_LIFE = Constant(4.5, "a", _LIFE, Standing.FROM_MEMORY, 4.0, 5.0)
_SEALED_LIFE = Constant(6.0, "a", _LIFE, Standing.FROM_MEMORY, 5.0, 7.0)
_LFP_LIFE = Constant(9.0, "a", _LIFE, Standing.FROM_MEMORY, 8.0, 10.0)

_FLOODED_FACTOR = Constant(
    1.2,
    "1",
    "85 % ampere-hour efficiency of lead-acid (second-hand); 1.6 in older charge tables",
    Standing.PUBLISHED,
    1.18,
    1.6,
)
_SEALED_FACTOR = Constant(1.1, "1", "valve-regulated lead-acid", Standing.FROM_MEMORY)
_LFP_FACTOR = Constant(1.02, "1", "LiFePO4", Standing.FROM_MEMORY)
_LEAD_ENERGY = Constant(
    0.70, "1", "about 70 % watt-hour efficiency of lead-acid (second-hand)", Standing.PUBLISHED
)
_LFP_ENERGY = Constant(0.95, "1", "LiFePO4", Standing.FROM_MEMORY)

_EN_VENT = "EN 62485-2 ventilation table (second-hand)"
_VENTED_FLOAT_V = Constant(
    2.23, "V/cell", "EN 62485-2 table (second-hand); makers' sheets", Standing.PUBLISHED, 2.20, 2.23
)
_SEALED_FLOAT_V = Constant(
    2.27, "V/cell", "EN 62485-2 table (second-hand); makers' sheets", Standing.PUBLISHED, 2.25, 2.30
)
_VENTED_GAS = (
    Constant(5.0, "mA/Ah", _EN_VENT, Standing.PUBLISHED),
    Constant(20.0, "mA/Ah", _EN_VENT, Standing.PUBLISHED),
)
_SEALED_GAS = (
    Constant(1.0, "mA/Ah", _EN_VENT, Standing.PUBLISHED),
    Constant(8.0, "mA/Ah", _EN_VENT, Standing.PUBLISHED),
)
_NO_GAS = Constant(0.0, "mA/Ah", "a sealed lithium cell gives off no gas in use", Standing.COMMON_PRACTICE)

_NAVFAC = "TM 5-684 / NAVFAC MO-200 para 14-28: every two months at 21 to 27 °C"
_MAKER = "battery maker's storage page: calcium 6 months below 27 °C, 3 above; hybrid half of that"


def _flooded(
    name: str,
    label: str,
    word: str,
    lost: Constant,
    faster: tuple[float, ...],
    interval: Constant,
    hot: Constant,
) -> Battery:
    return Battery(
        name,
        label,
        word,
        True,
        True,
        6,
        WET,
        lost,
        faster,
        FLOODED_WEEKS,
        interval,
        hot,
        _FLOODED_LIFE,
        _FLOODED_FACTOR,
        _LEAD_ENERGY,
        _VENTED_FLOAT_V,
        *_VENTED_GAS,
    )


def _sealed(
    name: str, label: str, curve: OpenCircuit, lost: Constant, faster: tuple[float, ...], hardens: Constant
) -> Battery:
    refresh = _days(120.0, "makers' storage pages: refresh every 3 to 4 months, never over 6")
    return Battery(
        name,
        label,
        label,
        True,
        False,
        6,
        curve,
        lost,
        faster,
        hardens,
        refresh,
        refresh,
        _SEALED_LIFE,
        _SEALED_FACTOR,
        _LEAD_ENERGY,
        _SEALED_FLOAT_V,
        *_SEALED_GAS,
    )


_MONTHLY = _days(30.0, "US Army TM 5-3820-256-24-4 and TM 5-1185: check and recharge every 30 days")

BATTERIES: tuple[Battery, ...] = (
    _flooded(
        "flooded_antimony",
        "flooded, lead-antimony (older style)",
        "lead-antimony",
        _lost(0.20, 0.18, 0.33, "US Army TM 9-6140-200-14 para 4-8 (0.001 SG a day at 80 °F); TM 5-1185"),
        ANTIMONY_FASTER,
        _MONTHLY,
        _MONTHLY,
    ),
    _flooded(
        "low_antimony",
        "flooded, low-antimony",
        "low-antimony",
        _lost(0.12, 0.05, 0.21, "battery supplier: 0.5 % a day at 20 °C; maker's sheet: 5 to 15 % a month"),
        ANTIMONY_FASTER,
        _days(60.0, _NAVFAC),
        _days(60.0, _NAVFAC),
    ),
    _flooded(
        "hybrid",
        "flooded, hybrid (antimony and calcium plates)",
        "hybrid",
        _lost(0.06, 0.05, 0.10, f"{_MAKER}: about twice calcium's rate"),
        HYBRID_FASTER,
        _days(90.0, _MAKER),
        _days(45.0, _MAKER),
    ),
    _flooded(
        "calcium",
        "flooded, lead-calcium (maintenance-free)",
        "calcium",
        _lost(0.03, 0.02, 0.04, "102 to 104 Ah to give 100 Ah over 30 days (handbook, second-hand)"),
        CALCIUM_FASTER,
        _days(180.0, _MAKER),
        _days(90.0, _MAKER),
    ),
    _sealed(
        "agm",
        "AGM",
        AGM,
        _lost(0.03, 0.01, 0.03, "makers' sheets: 2 % a month at 25 °C, 3 % at 20 °C"),
        CALCIUM_FASTER,
        AGM_WEEKS,
    ),
    _sealed(
        "gel",
        "gel",
        GEL,
        Constant(0.03, "1/30 d", "2 to 3 % a month", Standing.FROM_MEMORY, 0.02, 0.03),
        GEL_FASTER,
        GEL_WEEKS,
    ),
    Battery(
        "lifepo4",
        "lithium iron phosphate",
        "lithium",
        False,
        False,
        4,
        LFP,
        _lost(0.03, 0.01, 0.03, "maker's manual: at most 2 % a month; others 1 to 3 %"),
        NOT_FASTER,
        NO_SULPHATE,
        _days(180.0, "half-yearly top-up of the trade", Standing.COMMON_PRACTICE),
        _days(180.0, "half-yearly top-up of the trade", Standing.COMMON_PRACTICE),
        _LFP_LIFE,
        _LFP_FACTOR,
        _LFP_ENERGY,
        None,
        _NO_GAS,
        _NO_GAS,
    ),
    _flooded(
        "unknown",
        "kind not recorded",
        "",
        Constant(0.12, "1/30 d", "as low-antimony; range of all lead-acid", Standing.POLICY, 0.02, 0.33),
        HYBRID_FASTER,
        _days(60.0, _NAVFAC),
        _days(45.0, _MAKER),
    ),
)

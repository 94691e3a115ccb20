"""What Help shows of the models: each curve with what was published, and the scorecard of the dates.

``uv run python -m tests.bench.measured`` writes the table that Help reads; tests hold it to the models.
"""

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt

from scheduler.physics.battery import ageing, charge_state, discharge, freezing, sulphation
from scheduler.physics.battery.batteries import BATTERIES, SG_USUAL
from scheduler.physics.fluids.brake_fluid import boiling_point_c
from scheduler.physics.fluids.coolant import freezing_point_c
from scheduler.physics.fuel import water
from scheduler.physics.materials import position
from scheduler.physics.tyres.pressure import leak_per_day, leak_speed, pressure_after_kpa
from scheduler.physics.tyres.tyres import LEAK_PER_MONTH
from scheduler.vocabulary.units import DAYS_PER_MONTH, KPA_PER_PSI
from tests.scheduler.published.tables import celsius_from_fahrenheit, columns, rows
from tests.scheduler.worlds import batteries, fuels, tyres

STORED = Path(__file__).parents[2] / "collection" / "help" / "measured.json"
READINGS = (0, 1, 3, 5)
CARS = 2000
SYSTEMS = {"Recharge a battery": batteries, "Pump up a tyre": tyres, "Change the fuel for gum": fuels}
POINTS = 25
TSP_PER_GAL_PCT = 0.13021
Floats = npt.NDArray[np.float64]
Curve = Callable[[Floats], Floats]


def scorecard(cars: int) -> list[dict[str, Any]]:
    """The score of every world: coverage in per cent and error in days after so many readings."""
    return [
        {
            "system": title,
            "world": world.name,
            "coverage_pct": [round(100.0 * one.coverage, 1) for one in scores],
            "error_days": [round(one.error_days, 1) for one in scores],
        }
        for title, system in SYSTEMS.items()
        for world in system.WORLDS
        for scores in ([system.score(world, readings, cars) for readings in READINGS],)
    ]


def mechanisms() -> list[dict[str, Any]]:
    """Every curve with the points that were published."""
    of_battery = [_leaks_with_warmth(), _volts(), _freezes(), _sulphate(), _battery_life()]
    return [*of_battery, _tyres(), _water(), _coolant(), _brake_fluid()]


def _mechanism(curve: Curve, low: float, high: float, points: list[tuple[float, float]], **words: str) -> Any:
    x = np.linspace(low, high, POINTS)
    model = curve(np.array([point[0] for point in points]))
    return {
        **words,
        "curve": [[round(a, 4), round(b, 4)] for a, b in zip(x.tolist(), curve(x).tolist(), strict=True)],
        "points": [
            [round(float(a), 4), round(float(b), 4), round(float(c), 4)]
            for (a, b), c in zip(points, model, strict=True)
        ],
    }


def _pairs(x: Floats, y: Floats) -> list[tuple[float, float]]:
    return list(zip(np.asarray(x).tolist(), np.asarray(y).tolist(), strict=True))


def _leaks_with_warmth() -> Any:
    table, row = columns("battery_self_discharge"), BATTERIES[position(BATTERIES, "flooded_antimony")]
    share = 100.0 * table["sg_per_day"] / (SG_USUAL[-1] - SG_USUAL[0])
    return _mechanism(
        lambda x: np.asarray(100.0 * row.self_discharge.value * discharge.factor_days(x)),
        0.0,
        40.0,
        _pairs(celsius_from_fahrenheit(table["temp_f"]), share),
        key="self-discharge",
        system="Battery",
        title="A lead-antimony battery loses charge within itself",
        x="°C",
        y="% a day",
        law="Twice as fast for each 10 K (Arrhenius, 51.2 kJ/mol).",
        holds="Measured at 10 to 38 °C in the first ten days of a charged battery. Below 10 °C it is "
        "carried on. "
        "Other kinds have their own rates; all grow with age.",
        source="US Army TM 9-6140-200-14, para 4-8",
        standing="published; the source rounds to one or two figures",
    )


def _volts() -> Any:
    table, code = columns("battery_ocv_army"), position(BATTERIES, "calcium")
    return _mechanism(
        lambda x: np.asarray(charge_state.rested_volts(x / 100.0, 26.7, code, 12.0)),
        0.0,
        100.0,
        _pairs(table["soc_pct"], table["volts"]),
        key="rested-volts",
        system="Battery",
        title="Rested volts and charge of a flooded battery",
        x="% of charge",
        y="V",
        law="Straight between five points of the trade's table; colder acid reads a little less.",
        holds="12 V, rested eight hours, 27 °C; below empty the acid's own curve. Sealed kinds and "
        "lithium have "
        "their own tables.",
        source="US Army TM 5-3805-262-20, p. 5-142",
        standing="published",
    )


def _freezes() -> Any:
    table = [row for row in rows("battery_freezing_soc") if row["source"] == "army_tm"]
    points = [(float(row["soc_pct"]), float(row["freezes_c"])) for row in table]
    return _mechanism(
        lambda x: np.asarray(freezing.freezing_point_c(x / 100.0), float),
        0.0,
        100.0,
        points,
        key="battery-frost",
        system="Battery",
        title="What charge keeps a battery from freezing",
        x="% of charge",
        y="°C",
        law="The highest freezing point that any source gives at that charge.",
        holds="Lead-acid with the usual fill. A long-stood battery is layered: weak acid on top "
        "freezes first, for "
        "which a margin is kept.",
        source="US Army TM 5-4210-230-14&P-1, table 2",
        standing="published",
    )


def _sulphate() -> Any:
    half_charged = float(
        104.0 * ((0.8 - 0.5) / 0.8) ** 2 * sulphation.hardening_speed(np.array(15.0))
    )  # weeks flat at 25 °C that two years at half charge and 15 °C count for
    return _mechanism(
        lambda x: np.asarray(100.0 * sulphation.lasting_loss(x, sulphation.AGM_WEEKS.value)),
        0.0,
        60.0,
        [(4.0, 3.0), (half_charged, 14.0)],
        key="sulphation",
        system="Battery",
        title="Standing low costs a battery capacity for good",
        x="weeks flat at 25 °C",
        y="% lost for good",
        law="L = 1 − exp(−H/H₀); H counts ((0.8 − charge)/0.8)² of each hour, twice as much for each 10 K. "
        "H₀: 54 weeks AGM (drawn), 36 gel, 18 flooded, each from less than half to more than twice that. "
        "Until a full charge 2.5 times the loss is missing.",
        holds="A guess, held against two single batteries: no series of measurements was found. "
        "Stretches are reckoned from the care log; capacity within one stretch is that at its beginning.",
        source="a maker's four-week test of a thin-plate battery (from memory); one owner's aircraft "
        "battery, two years aside, taken as half charged at 15 °C",
        standing="policy; the points from memory and second-hand",
    )


def _battery_life() -> Any:
    return _mechanism(
        lambda x: np.asarray(10.0 / ageing.wear_rate(x)),
        15.0,
        45.0,
        [(25.0, 10.0), (33.0, 5.0), (41.0, 2.5)],
        key="battery-life",
        system="Battery",
        title="Warmth shortens a sealed battery's life",
        x="°C",
        y="years, of ten at 25 °C",
        law="Half for each 8 K; the straight line to 80 % of its rating at the end of that life.",
        holds="25 to 41 °C. Below 20 °C nothing is known: a cold store is given no longer life.",
        source="BU-806a",
        standing="published",
    )


def _tyres() -> Any:
    table = columns("permeation")
    kpa = 32.0 * KPA_PER_PSI

    def lost_psi(temp_c: Floats) -> Floats:
        leak = leak_per_day(LEAK_PER_MONTH.value) * leak_speed(temp_c)
        return np.asarray((kpa - pressure_after_kpa(kpa, leak, DAYS_PER_MONTH)) / KPA_PER_PSI)

    middle = (table["low_psi"] + table["high_psi"]) / 2.0
    return _mechanism(
        lost_psi,
        0.0,
        40.0,
        _pairs(celsius_from_fahrenheit(table["air_f"]), middle),
        key="tyre-leak",
        system="Tyres",
        title="A sound tyre loses air",
        x="°C",
        y="psi a month, of 32",
        law="2 % a month at 20 °C, 1.64 times that for each 10 K; by all paths, from 0.6 to 5 %.",
        holds="Standing tyres. Over ten years old, 4 %. What a tyre's own readings show takes over "
        "from the table.",
        source="Pressure Loss Mechanisms in Pneumatic Tires, Tire Science & Technology 13(1), 1985, abstract",
        standing="published; the middle of its range",
    )


def _water() -> Any:
    table = [row for row in rows("fuel_water_tolerance") if float(row["ethanol_pct"]) == 10.0]
    points = [
        (float(celsius_from_fahrenheit(float(row["temp_f"]))), TSP_PER_GAL_PCT * float(row["tsp_per_gal"]))
        for row in table
    ]
    return _mechanism(
        lambda x: np.asarray(water.tolerance_pct(0.10, x)),
        -12.0,
        25.0,
        points,
        key="water-in-petrol",
        system="Fuel",
        title="Water that petrol with 10 % ethanol holds",
        x="°C",
        y="% by volume",
        law="w = 0.0195 + (0.30 + 0.0072 (T + 12.2) − 0.0195)(E/10)^1.85; a quarter is kept back.",
        holds="0 to 15 % ethanol, −12 to 25 °C. Petrol bought differs by a quarter from one make to "
        "the next.",
        source="a US agency's memo, through trade copies; a university's measurement at room temperature",
        standing="second-hand; the measurement published",
    )


def _coolant() -> Any:
    table = columns("army_antifreeze")
    return _mechanism(
        lambda x: np.asarray(freezing_point_c(x / 100.0, "ethylene")),
        0.0,
        55.0,
        _pairs(100.0 * table["pints_per_gallon"] / 8.0, celsius_from_fahrenheit(table["lowest_f"])),
        key="coolant-frost",
        system="Cooling",
        title="What share of glycol keeps coolant liquid",
        x="% of ethylene glycol",
        y="°C",
        law="A handbook's table of freezing points, straight between its rows.",
        holds="0 to 55 % by volume. The points are for the lowest air expected, so they lie above the curve.",
        source="US Army TM 9-6115-464-12, table 2-1",
        standing="published; rounded to a quarter pint",
    )


def _brake_fluid() -> Any:
    table = columns("trrl_lr_903")
    return _mechanism(
        lambda x: np.asarray(boiling_point_c(x, 250.0, 140.0)),
        0.0,
        6.0,
        _pairs(table["water_pct"], table["boils_c"]),
        key="brake-fluid",
        system="Brakes",
        title="Water brings a brake fluid's boiling point down",
        x="% of water",
        y="°C",
        law="T = dry − A w / (1 + w)",
        holds="A fluid of 250 °C dry; each grade is held to its own dry and wet limit. Nothing "
        "foretells the water "
        "from the age: it is measured.",
        source="TRRL Report LR 903, J. Keen, 1979, abstract",
        standing="published",
    )


def main() -> None:
    """Write what Help reads."""
    table = {"cars": CARS, "readings": READINGS, "mechanisms": mechanisms(), "scorecard": scorecard(CARS)}
    STORED.write_text(json.dumps(table, ensure_ascii=False, indent=1) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()

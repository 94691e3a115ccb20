"""Our own thresholds: every one may be changed by the organisation, none is a standard."""

from dataclasses import dataclass, field, fields


@dataclass(frozen=True)
class PolicyTerm:
    """What one threshold means, why its default is what it is, and what may be typed."""

    name: str
    label: str
    unit: str
    default: float
    low: float
    high: float
    reason: str


def _term(label: str, unit: str, default: float, low: float, high: float, reason: str) -> float:
    term: float = field(
        default=default,
        metadata={"label": label, "unit": unit, "low": low, "high": high, "reason": reason},
    )
    return term


@dataclass(frozen=True)
class Policy:
    """The thresholds that a duty compares its curves with."""

    recharge_soc: float = _term(
        "Recharge at state of charge",
        "1",
        0.75,
        0.5,
        0.95,
        "75 % is the freshening level of the US Army's storage manual (TM 5-3820-256-24-4: SG 1.225)",
    )
    sulphation_soc: float = _term(
        "Sulphation harm below",
        "1",
        0.50,
        0.2,
        0.8,
        "standing below half charge is the trade's line for hard sulphate (common practice)",
    )
    freeze_margin_k: float = _term(
        "Margin above electrolyte freezing",
        "K",
        5.0,
        0.0,
        15.0,
        "long-stood batteries stratify and the weak top layer freezes first (design choice)",
    )
    charge_late_factor: float = _term(
        "A charge is late at this many intervals",
        "1",
        1.5,
        1.0,
        3.0,
        "AGM: refresh at 4 months, never over 6 (makers, second-hand); carried to the rest by choice",
    )
    charger_a: float = _term(
        "Charger current",
        "A",
        4.0,
        0.5,
        60.0,
        "a small workshop charger (common practice); only the time on charge hangs on it",
    )
    maintainer_check_days: float = _term(
        "Look at a maintainer",
        "days",
        30.0,
        1.0,
        120.0,
        "stored batteries are checked every 30 days (US Army TM 5-3820-256-24-4)",
    )
    # fluids
    cold_spell_k: float = _term(
        "Coldest nights below the usual night, outside",
        "K",
        10.0,
        0.0,
        25.0,
        "in two TMY3 files the coldest winter night lay 7 to 17 K under the mean minimum (computed); of "
        "a day of such cold 95 % come through light walls, 86 % through those of a heated building",
    )
    coolant_margin_k: float = _term(
        "Margin above coolant freezing",
        "K",
        5.0,
        0.0,
        15.0,
        "testers read to a few kelvin and mixing is uneven (design choice)",
    )
    fluid_tolerance: float = _term(
        "Tolerance of a calendar date",
        "1",
        0.10,
        0.0,
        0.5,
        "10 % early or late is the US Army's tolerance for scheduled service (TM 9-2330-388-14, para 4-68)",
    )
    brake_fluid_months: float = _term(
        "Replace brake fluid after",
        "months",
        24.0,
        6.0,
        60.0,
        "two years, in use or standing (common practice)",
    )
    brake_water_pct: float = _term(
        "Replace brake fluid at water share",
        "%",
        3.0,
        1.0,
        5.0,
        "most of the fall in boiling point has happened by then (TRRL Report LR 903)",
    )
    fluid_check_months: float = _term(
        "A fluid tested or looked at, and good, serves on for",
        "months",
        12.0,
        1.0,
        24.0,
        "brake fluid under 2 % water may wait a year longer (trade); oils are looked at yearly (handbooks)",
    )
    engine_oil_warm_months: float = _term(
        "Engine oil of a car whose runs all get warm",
        "months",
        12.0,
        1.0,
        24.0,
        "12 months or 12,000 km (makers' handbooks); warm runs drive water and fuel out again",
    )
    engine_oil_standby_months: float = _term(
        "Engine oil of a car that is run short, or nobody knows how",
        "months",
        6.0,
        1.0,
        24.0,
        "at most 6 months for a standby engine (US Army TM 9-6115-464-12 para 2-13; LO 9-2320-279-12)",
    )
    engine_oil_months: float = _term(
        "Engine oil of a car that rests",
        "months",
        24.0,
        1.0,
        60.0,
        "changed before the lay-up, it stays clean while the engine rests: 1 to 3 years (common practice)",
    )
    gear_oil_months: float = _term(
        "Gearbox and axle oil of a car that is run",
        "months",
        60.0,
        6.0,
        120.0,
        "3 to 10 years (handbooks and workshops); the US Army's yearly change is for hard use",
    )
    gear_oil_resting_months: float = _term(
        "Gearbox and axle oil of a car that rests",
        "months",
        84.0,
        6.0,
        120.0,
        "no heat, no shear at rest: extended in low activity (TM 9-2320-280-10); 7 years is our choice",
    )
    oil_late_factor: float = _term(
        "Oil is late at this many intervals",
        "1",
        2.0,
        1.0,
        5.0,
        "no source says when old oil begins to harm; twice the interval is our choice",
    )
    damp_rh_pct: float = _term(
        "A day is damp above humidity",
        "%",
        75.0,
        50.0,
        95.0,
        "over 75 % is damp (Canadian Conservation Institute, Michalski)",
    )
    damp_oil_factor: float = _term(
        "Oil interval where every day is damp",
        "1",
        0.75,
        0.25,
        1.0,
        "damp air condenses in cold sumps; the factor is our choice",
    )
    # tyres
    tyre_drop_share: float = _term(
        "Pump up tyres at a fall of",
        "1",
        0.10,
        0.02,
        0.5,
        "a tenth below placard (common practice)",
    )
    tyre_late_drop_share: float = _term(
        "Tyres are harmed at a fall of",
        "1",
        0.25,
        0.05,
        0.8,
        "a quarter below placard the side walls carry the car (design choice)",
    )
    tyre_late_factor: float = _term(
        "A set is lasting at this many standing intervals",
        "1",
        2.0,
        1.0,
        6.0,
        "no source says when a flat spot stays; twice the interval is our choice",
    )
    # the inspection
    inspect_open_days: float = _term(
        "Inspection in the open",
        "days",
        7.0,
        1.0,
        60.0,
        "weekly in open storage (US Army TM 9-2330-267-14&P, para 4-65)",
    )
    inspect_covered_days: float = _term(
        "Inspection under a roof",
        "days",
        30.0,
        1.0,
        120.0,
        "monthly in covered storage (US Army TM 9-2330-267-14&P, para 4-65)",
    )
    damp_inspect_factor: float = _term(
        "Inspection interval under a roof where every day is damp",
        "1",
        0.5,
        0.1,
        1.0,
        "brakes and clutches stick within weeks in damp stores; the factor is our choice",
    )
    # fuel and running
    stabilise_by_life: float = _term(
        "Treat fresh fuel before this share of its life is used",
        "1",
        0.25,
        0.05,
        0.5,
        "stabiliser works only in fresh petrol (Chevron storage practices); a quarter is our choice",
    )
    stabiliser_serves_until_life: float = _term(
        "Stabiliser no longer serves beyond this share of fuel life",
        "1",
        0.5,
        0.1,
        0.9,
        "it cannot mend petrol that has started to deteriorate (Chevron); half is our choice",
    )
    run_up_wet_hours: float = _term(
        "Wet hours allowed between warm runs",
        "h",
        250.0,
        50.0,
        1500.0,
        "what 30 days bring at 3,050 wet hours a year (Greensboro typical year), so that an ordinary "
        "outdoor place keeps the Army's 30 days and a dry one comes later",
    )
    run_up_earliest_days: float = _term(
        "Warm run at the earliest after",
        "days",
        21.0,
        7.0,
        60.0,
        "one transport museum exercises its running collection every 3 weeks (2012)",
    )
    run_up_damp_days: float = _term(
        "Warm run in the dampest place after",
        "days",
        30.0,
        7.0,
        90.0,
        "engines on standby at least every 30 days (US Army TM 9-6115-464-12, para 2-13)",
    )
    run_up_dry_days: float = _term(
        "Warm run in the driest place after",
        "days",
        84.0,
        30.0,
        365.0,
        "half of the Army's 24-week exercise sheet; the week columns of its copy are lost, our choice",
    )
    run_up_latest_days: float = _term(
        "Warm run at the latest after",
        "days",
        168.0,
        60.0,
        730.0,
        "one major exercise in 24 weeks of administrative storage (US Army TM 9-2330-389-14&P, table 4-4)",
    )
    run_up_hold_minutes: float = _term(
        "Hold drying temperature for",
        "min",
        20.0,
        10.0,
        60.0,
        "15 to 20 min of driving dry oil (Fitch); a museum holds 30 min, an aero-engine maker an hour",
    )
    run_up_oil_c: float = _term(
        "Oil is drying at",
        "°C",
        80.0,
        60.0,
        100.0,
        "between 71 °C (US Army TM 9-6115-464-12) and 74 to 93 °C (an aero-engine maker's letter)",
    )
    run_up_rest_days: float = _term(
        "Not run for longer: recommission in stages first",
        "days",
        365.0,
        90.0,
        1825.0,
        "a bore inspection after about 2 years found corroded cylinders (National Museum of Australia)",
    )


def terms() -> tuple[PolicyTerm, ...]:
    """All thresholds with their meaning, for the page where an organisation changes them."""
    return tuple(
        PolicyTerm(name=f.name, default=getattr(Policy, f.name), **f.metadata) for f in fields(Policy)
    )

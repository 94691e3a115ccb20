"""The newest that is known of each battery, and what its readings teach of its rate.

Each reading is held against what the level before it foretells: the last completed charge of its
spell, else the reading before. Agreeing, the two are fused by their certainty. A reading far below
is taken at its word (something drew on it, and a charge does no harm) but teaches no rate. One far
above is set aside: nothing fills a battery unseen, and surface charge looks like that. Several that
agree on more than the record tells of teach that something draws on the battery (see ``drain``).
"""

from dataclasses import dataclass, replace

import numpy as np

from scheduler.duties.battery.charge.decline import Air, Rates, air_of, lost, table_rates
from scheduler.duties.battery.charge.drain import Falls, extra_a_day
from scheduler.duties.battery.charge.evidence import CHARGE, KINDS, PART, Events, gather
from scheduler.duties.battery.charge.hardening import Hardened, Known, harden, losses
from scheduler.duties.battery.charge.pack import Pack, describe
from scheduler.duties.battery.charge.part_charges import Pace, credited
from scheduler.duties.conditions import Bools, Fleet, Floats, Ints
from scheduler.duties.learning import GUARD_SD, NINETY_PERCENT_SD, update_line
from scheduler.duties.once import once_a_fleet
from scheduler.duties.policy import Policy
from scheduler.duties.windows import Day
from scheduler.physics.battery.ageing import LEAST_HEALTH
from scheduler.physics.battery.discharge import HOURS_PER_DAY

LEAST_PRIOR_SD = 0.25  # policy: no table is surer of one battery, which may hold far less than rated
# What readings show missing after a charge: the charger stopped short, or the meter reads low.
SHORT_SD, METER_SD = 0.03, 0.04  # policy; shares of charge
LEAST_MULTIPLIER = 0.10  # policy: a battery that hardly runs down still does
LEAST_RANGE_SD = 0.05  # below it a range says nothing of how far a rate is off
LEAST_DOUBT = 0.10  # policy: a reading so far off, as a share of what is expected, shows no drain
MODEL_SD = 0.02  # policy: what the equation leaves out between two events
ASSUMED_SOC, ASSUMED_SD = 0.90, 0.09  # policy: a car that came in from the road, nobody having charged it
NOTHING_KNOWN_SD = 0.15  # policy: with no date at all it is taken as at the recharge threshold
EMPTY_SOC = 0.03  # policy: a reading this low is that of an empty battery
NO_BASE = -1


@dataclass(frozen=True)
class Learned:
    """The car's own multiplier on its table rate (n,): mean, sd, the sd of the table's range, readings that
    counted; ``short`` and its sd: how far below the usual its charger stops."""

    mean: Floats
    sd: Floats
    range_sd: Floats
    short: Floats
    short_sd: Floats
    readings: Ints
    set_aside: Ints


@dataclass(frozen=True)
class State:
    """What is known of each battery (n,): ``soc`` on ``day``, how sure, and from which event.

    ``kind`` is a position in ``evidence.KINDS``, -1 where nothing is recorded; ``surprise`` is -1
    where the newest reading stands far below what was foretold, +1 where it was set aside as too high.
    """

    pack: Pack
    air: Air
    rates: Rates
    learned: Learned
    events: Events
    day: Floats
    soc: Floats
    sd: Floats
    kind: Ints
    newest: Ints  # position in ``events`` of the newest event that says a level, -1: none
    surprise: Ints
    floating_since: Floats
    refused: Ints
    maintainer_failed: Bools
    drawn_on: Bools  # its readings say that more draws on it than is recorded
    hardened: Hardened
    today: Day


@once_a_fleet
def known_state(fleet: Fleet, today: Day, policy: Policy) -> State:
    """All that the record says of a fleet's batteries up to ``today``."""
    evidence = gather(fleet, today)
    events, n = evidence.events, len(fleet)
    entered = np.minimum(
        np.fmax(np.fmax(fleet.battery_installed, fleet.stored_since), fleet.last_road_use), today
    )
    reference = np.fmax(_latest_day(events, n), entered)
    pack = describe(fleet, np.where(np.isnan(reference), today, reference))
    floating = evidence.floating_since[np.isfinite(evidence.floating_since)]
    looked = float(np.min(today)) - policy.maintainer_check_days
    first = np.nanmin(np.concatenate([events.day, entered, floating, [looked]]))
    air = air_of(fleet, float(first), today)
    events = replace(events, day=np.maximum(events.day, air.first_day))
    clock = Known(
        fleet,
        events,
        entered,
        ASSUMED_SOC,
        evidence.floating_since,
        table_rates(pack).case(1),
        air,
        policy.recharge_soc,
        today,
    )
    hardened = harden(clock)  # by what was read alone: nothing is learned yet
    left = _left_at(hardened, events, pack)
    taught = bool((events.kind != KINDS.index(CHARGE)).any())
    extra = _extra_a_day(fleet, events, left, pack, air)
    pack = replace(pack, drain_a=pack.drain_a + extra * pack.capacity_ah / HOURS_PER_DAY)
    learned, events, base, predicted, predicted_sd, left = _learn_twice(fleet, events, left, pack, air)
    events, surprise = _fuse(events, base, predicted, predicted_sd)
    last = _newest(events, n)
    surprised = np.where(last >= 0, np.append(surprise, 0)[last], 0)
    rates = _own_rates(table_rates(pack), learned)
    events, left = events.keep(surprise <= 0), left[surprise <= 0]
    pace = Pace(rates.case(1), learned.sd / learned.mean, air, pack.capacity_ah[1])
    events = credited(fleet, events, left, pace, policy)
    if taught:  # else levels and rates are as they were
        hardened = harden(replace(clock, events=events, rates=rates.case(1)))
    newest = _newest(events, n)
    missing = _missing_at(hardened, newest, pack)
    pack = pack.hardened(missing)
    # what hardened is unsure by itself, however well the readings before taught the rate
    rates = Rates(rates.self_30d, rates.drain / (1.0 - missing))
    day, soc, sd, kind = _level(events, newest, np.maximum(entered, air.first_day), today, policy)
    of_charge = kind == KINDS.index(CHARGE)
    soc = np.clip(soc - of_charge * learned.short, 0.0, 1.0)
    sd = np.hypot(sd, of_charge * learned.short_sd)
    return State(
        pack,
        air,
        rates,
        learned,
        events,
        day,
        soc,
        sd,
        kind,
        newest,
        surprised,
        evidence.floating_since,
        evidence.refused,
        evidence.maintainer_failed,
        extra[1] > 0.0,
        hardened,
        today,
    )


def _left_at(hardened: Hardened, events: Events, pack: Pack) -> Floats:
    """What each event (m,) likely left of the capacity that age has left."""
    kind = pack.chemistry[events.row]
    _, missing = losses(hardened.at_events, hardened.charged_at_events, kind, (1,))
    return np.asarray(1.0 - missing[0])


def _missing_at(hardened: Hardened, newest: Ints, pack: Pack) -> Floats:
    """The share of each capacity (3, n), least first, that was missing at its newest event; none before
    any."""
    known, missing = newest >= 0, np.zeros((3, newest.size))
    at_event = newest[known]
    missing[:, known] = losses(
        hardened.at_events[at_event], hardened.charged_at_events[at_event], pack.chemistry[known]
    )[1]
    return missing


def _latest_day(events: Events, n: int) -> Floats:
    latest = np.full(n, np.nan)
    np.fmax.at(latest, events.row, events.day)
    return latest


def _range_sd(pack: Pack, air: Air) -> Floats:
    """The spread of the table's multiplier (n,): low to high taken as the central 90 %."""
    rates = table_rates(pack)
    daily = rates.self_30d * air.mean_factor + rates.drain
    return np.asarray((daily[2] - daily[0]) / (2.0 * NINETY_PERCENT_SD * daily[1]))


def base_of(events: Events, last_road_use: Floats) -> Ints:
    """For each event (m,) the earlier event that foretells it, -1 for none.

    The last charge if it completed; without any charge, the reading before. A road drive between
    the two charges the battery by nobody knows how much, and breaks the line.
    """
    index = np.arange(events.row.size)
    charge = (events.kind == KINDS.index(CHARGE)) | (events.kind == KINDS.index(PART))
    last = np.maximum.accumulate(np.where(charge, index, NO_BASE))
    in_row = (last >= 0) & (events.row[last] == events.row)
    before = np.where(in_row, np.where(np.isnan(events.soc[last]), NO_BASE, last), index - 1)
    follows_broken = in_row & np.isnan(events.soc[last]) & (last < index - 1)
    before = np.where(follows_broken, index - 1, before)
    good = (before >= 0) & ~charge & (events.row[before] == events.row)
    drive = last_road_use[events.row]
    good &= ~((drive > events.day[before]) & (drive <= events.day))
    return np.where(good, before, NO_BASE)


@dataclass(frozen=True)
class _Pairs:
    """Each reading that follows a known level (m,): positions of both in the events, its car, what the tables
    foretell of the fall between them, how sure the two levels are, and 1 where the earlier is a charge."""

    pair: Ints
    start: Ints
    row: Ints
    expected: Floats
    noise: Floats
    from_charge: Floats


def _pairs(fleet: Fleet, events: Events, left: Floats, pack: Pack, air: Air) -> _Pairs:
    base = base_of(events, fleet.last_road_use)
    pair = np.flatnonzero(base >= 0)
    start, row = base[pair], events.row[pair]
    expected = lost(table_rates(pack).case(1), air, row, events.day[start], events.day[pair], left[start])
    # Readings that share a start share its error: counting it once for each of them is the safe side.
    sharing = np.bincount(start, minlength=base.size)[start]
    noise = np.sqrt(events.sd[pair] ** 2 + sharing * events.sd[start] ** 2 + MODEL_SD**2)
    from_charge = (events.kind[start] == KINDS.index(CHARGE)).astype(float)
    return _Pairs(pair, start, row, expected, noise, from_charge)


def _extra_a_day(fleet: Fleet, events: Events, left: Floats, pack: Pack, air: Air) -> Floats:
    """What its readings say is taken a day beyond the record (3, n), shares of capacity."""
    known = _pairs(fleet, events, left, pack, air)
    fall = Falls(
        known.row,
        np.clip(events.soc[known.start], 0.0, 1.0),
        np.clip(events.soc[known.start], 0.0, 1.0) - np.clip(events.soc[known.pair], 0.0, 1.0),
        known.expected,
        (events.day[known.pair] - events.day[known.start]) / left[known.start],
        np.hypot(known.noise, np.hypot(SHORT_SD, METER_SD) * known.from_charge),
        np.maximum(_range_sd(pack, air), LEAST_DOUBT)[known.row],
    )
    return extra_a_day(fall, pack.capacity_ah[1], ~fleet.isolated)


def _learn_twice(
    fleet: Fleet, events: Events, left: Floats, pack: Pack, air: Air
) -> tuple[Learned, Events, Ints, Floats, Floats, Floats]:
    """Learn; set stray readings aside, save each car's newest event; learn from what is left."""
    first, base, predicted, predicted_sd = _learn(fleet, events, left, pack, air)
    apart = (events.soc - predicted) / np.hypot(events.sd, predicted_sd)
    newest = np.zeros(events.row.size, bool)
    position = _newest(events, len(fleet))
    newest[position[position >= 0]] = True
    kept = ~(np.abs(apart) > GUARD_SD) | newest
    if kept.all():
        return first, events, base, predicted, predicted_sd, left
    aside = np.bincount(events.row[~kept], minlength=len(fleet))
    events, left = events.keep(kept), left[kept]
    second, base, predicted, predicted_sd = _learn(fleet, events, left, pack, air)
    return replace(second, set_aside=second.set_aside + aside), events, base, predicted, predicted_sd, left


def _learn(
    fleet: Fleet, events: Events, left: Floats, pack: Pack, air: Air
) -> tuple[Learned, Ints, Floats, Floats]:
    """The multipliers, each event's base, and what was foretold for it with its standard deviation."""
    n, base = len(fleet), base_of(events, fleet.last_road_use)
    known = _pairs(fleet, events, left, pack, air)
    pair, start, row, expected, noise = known.pair, known.start, known.row, known.expected, known.noise
    tells = events.soc[pair] > EMPTY_SOC  # an empty battery says only that it took no longer
    fall = (events.soc[start] - events.soc[pair])[tells]
    range_sd, of_charge = _range_sd(pack, air), known.from_charge
    prior = np.array([np.full(n, np.hypot(SHORT_SD, METER_SD)), np.maximum(range_sd, LEAST_PRIOR_SD)])
    usual = np.array([np.zeros(n), np.ones(n)])
    line = update_line(usual, prior, expected[tells], fall, noise[tells], row[tells], of_charge[tells])
    mean = np.maximum(line.mean[1], LEAST_MULTIPLIER)
    predicted, predicted_sd = np.full(base.size, np.nan), np.full(base.size, np.nan)
    missing = of_charge * line.mean[0][row]
    predicted[pair] = np.clip(events.soc[start] - missing - mean[row] * expected, 0.0, 1.0)
    doubt = of_charge * line.sd[0][row] ** 2 + 2.0 * of_charge * expected * line.cov[row]
    doubt = np.maximum(doubt + (expected * line.sd[1][row]) ** 2, 0.0)
    predicted_sd[pair] = np.sqrt(events.sd[start] ** 2 + MODEL_SD**2 + doubt)
    counts = np.bincount(row[tells][line.used], minlength=n)
    aside = np.bincount(row[tells], minlength=n) - counts
    # of what is missing after a charge, the charger's part; the meter's is no loss
    part = SHORT_SD**2 / (SHORT_SD**2 + METER_SD**2)
    short_sd = np.hypot(part * line.sd[0], np.sqrt(part) * METER_SD)
    learned = Learned(mean, line.sd[1], range_sd, part * line.mean[0], short_sd, counts, aside)
    return learned, base, predicted, predicted_sd


def _fuse(events: Events, base: Ints, predicted: Floats, predicted_sd: Floats) -> tuple[Events, Ints]:
    """Levels (m,) from reading and forecast together, and which stray: -1 far below, +1 far above."""
    apart = (events.soc - predicted) / np.hypot(events.sd, predicted_sd)
    surprise = np.where(apart > GUARD_SD, 1, np.where(apart < -GUARD_SD, -1, 0))
    weight = predicted_sd**2 / (predicted_sd**2 + events.sd**2)
    weight = np.where(surprise > 0, 0.0, np.where((surprise < 0) | (base < 0), 1.0, weight))
    forecast = np.where(base < 0, events.soc, predicted)
    soc = np.clip(weight * events.soc + (1.0 - weight) * forecast, 0.0, 1.0)
    spread = np.where(base < 0, 0.0, (1.0 - weight) * predicted_sd)
    return replace(events, soc=soc, sd=np.hypot(weight * events.sd, spread)), surprise


def _newest(events: Events, n: int) -> Ints:
    """Position (n,) of each car's newest event that says a level, -1 for none."""
    newest = np.full(n, NO_BASE)
    says = np.flatnonzero(~np.isnan(events.soc))
    np.maximum.at(newest, events.row[says], says)
    return newest


def _level(
    events: Events, newest: Ints, entered: Floats, today: Day, policy: Policy
) -> tuple[Floats, Floats, Floats, Ints]:
    """Day, level, its sd and kind (n,); what nobody recorded is assumed."""
    dated = ~np.isnan(entered)
    day = np.where(dated, entered, today)
    soc = np.where(dated, ASSUMED_SOC, policy.recharge_soc)
    sd = np.where(dated, ASSUMED_SD, NOTHING_KNOWN_SD)
    kind = np.full(newest.size, NO_BASE)
    has = newest >= 0
    at_event = newest[has]
    day[has], soc[has], sd[has], kind[has] = (
        events.day[at_event],
        events.soc[at_event],
        events.sd[at_event],
        events.kind[at_event],
    )
    return day, soc, sd, kind


def _own_rates(table: Rates, learned: Learned) -> Rates:
    """The car's own rates (3, n): likely times its multiplier, the range as wide as that is unsure."""
    share = learned.sd / np.maximum(learned.range_sd, LEAST_RANGE_SD)
    return Rates(*(learned.mean * rate[1] * _ratio(rate) ** share for rate in (table.self_30d, table.drain)))


def _ratio(rate: Floats) -> Floats:
    """Low, likely and high (3, n) as shares of the likely; 1 where nothing is lost at all."""
    return np.asarray(np.divide(rate, rate[1], out=np.ones_like(rate), where=rate[1] > 0.0))


def unsure(state: State) -> Bools:
    """Where anything that the dates rest on was assumed (n,)."""
    return np.asarray(np.logical_or.reduce([*state.pack.assumed.values(), state.kind < 0]))


def spent(state: State) -> Bools:
    """Where age and standing low have likely left for good less than what makes a battery scrap (n,)."""
    clock, pack = state.hardened, state.pack
    lasting, _ = losses(clock.today, clock.charged, pack.chemistry)
    return np.asarray(pack.health[1] * (1.0 - lasting[1]) < LEAST_HEALTH.value)

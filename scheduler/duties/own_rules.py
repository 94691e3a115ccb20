"""What keepers decided of a duty in place of our models: every window and every reason passes through here.

An interval of their own counts from the last time that the duty was done, else from the lay-up, with the
tolerance of a calendar date; where neither is known the models' dates stay. *Not before* a day moves every
date to that day; *put off* holds the duty and leaves its dates; *not for this car* takes the dates away.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from scheduler.duties.conditions import Bools, Fleet, Floats
from scheduler.duties.last_done import last_done
from scheduler.duties.policy import Policy
from scheduler.duties.windows import NOT_HELD, Day, DutyWindow, Explanation, Input, Source, Step, each_row
from scheduler.duties.words import known_day, number, spoken
from scheduler.vocabulary.duties import DUTIES, Duty

OWN_INTERVAL = "its own interval"
NOT_BEFORE = "not before the day that was set for it"
NOT_FOR = "not for this car"
PUT_OFF = "put off"
Window = Callable[[Fleet, Day, Policy], DutyWindow]
Reason = Callable[[Fleet, float, Policy], Explanation]


def window_by_rules(duty: Duty, window: Window) -> Window:
    """The duty's window, in which the rules of each car have the last word."""

    def windows(fleet: Fleet, today: Day, policy: Policy) -> DutyWindow:
        made = window(fleet, today, policy)
        at = len(made.limits)
        named = replace(
            made, limits=(*made.limits, OWN_INTERVAL, NOT_BEFORE, NOT_FOR), holds=(*made.holds, PUT_OFF)
        )
        rules = _rules(fleet, duty)
        return _ruled(fleet, duty, named, rules, at, today, policy) if rules else named

    return windows


def reason_by_rules(duty: Duty, window: Window, explain: Reason) -> Reason:
    """The duty's reason for one car: its own rule first, and what the models alone would say."""

    def reason(fleet: Fleet, today: float, policy: Policy) -> Explanation:
        rules = _rules(fleet, duty)
        if rules is None:
            return explain(fleet, today, policy)
        model = window(fleet, today, policy)
        ruled = window_by_rules(duty, window)(fleet, today, policy)
        explanation = explain(fleet, today, policy)
        return _adjust(explanation, model, ruled, rules, last_done(fleet, duty), float(fleet.stored_since[0]))

    return reason


@dataclass(frozen=True)
class _Rules:
    """The rules of one duty as columns (n,): NaN, or False, where nothing was decided."""

    interval_days: Floats
    not_before: Floats
    put_off_until: Floats
    not_for: Bools


def _rules(fleet: Fleet, duty: Duty) -> _Rules | None:
    """The rules of one duty, None where no car has any."""
    table = fleet.rules
    mine = table.duty == DUTIES.index(duty)
    if not mine.any():
        return None
    columns = {}
    for name in ("interval_days", "not_before", "put_off_until"):
        columns[name] = np.full(len(fleet), np.nan)
        columns[name][table.row[mine]] = getattr(table, name)[mine]
    not_for = np.zeros(len(fleet), bool)
    not_for[table.row[mine]] = table.not_for[mine]
    return _Rules(**columns, not_for=not_for)


def _ruled(
    fleet: Fleet, duty: Duty, made: DutyWindow, rules: _Rules, at: int, today: Day, policy: Policy
) -> DutyWindow:
    own_interval, not_before, not_for = at, at + 1, at + 2
    done = last_done(fleet, duty)
    start = np.where(np.isnan(done), fleet.stored_since, done)
    own = ~np.isnan(start + rules.interval_days) & _applies(fleet, duty)
    spread = rules.interval_days * policy.fluid_tolerance
    due = np.where(own, start + rules.interval_days, made.due)
    early = np.where(own, due - spread, made.early)
    late = np.where(own, due + spread, made.late)
    limit = np.where(own, own_interval, made.limit)
    assumed = np.where(own, np.isnan(done), made.assumed)
    waits = due < rules.not_before
    early, due, late = (
        np.where(np.isnan(day), day, np.fmax(day, rules.not_before)) for day in (early, due, late)
    )
    limit = np.where(waits, not_before, limit)
    early, due, late = (np.where(rules.not_for, np.nan, day) for day in (early, due, late))
    put_off = (each_row(today, len(fleet)) < rules.put_off_until) & (made.hold == NOT_HELD)
    hold = np.where(put_off, len(made.holds) - 1, made.hold)
    return replace(
        made,
        early=early,
        due=due,
        late=late,
        limit=np.where(rules.not_for, not_for, limit),
        hold=np.where(rules.not_for, NOT_HELD, hold),
        assumed=assumed.astype(bool) & ~rules.not_for,
    )


def _applies(fleet: Fleet, duty: Duty) -> Bools:
    """Where an interval has something to count: not for tyres in the air, nor while a maintainer charges."""
    if duty.work.by_moving:
        return ~fleet.on_stands
    return ~fleet.on_maintainer if duty.effect == "charged" else np.ones(len(fleet), bool)


def _adjust(
    reason: Explanation, model: DutyWindow, ruled: DutyWindow, rules: _Rules, done: Floats, laid_up: float
) -> Explanation:
    alone = f"By our models alone it would be due {spoken(model.due[0])}."
    if rules.not_for[0]:
        decided = Input("this duty", NOT_FOR, "", "record")
        summary = f"{NOT_FOR.capitalize()}: whoever keeps it decided so. {alone}"
        return replace(reason, summary=summary, inputs=(decided,), steps=(), assumptions=(), learning=())
    inputs, steps, parts = list(reason.inputs), list(reason.steps), []
    limit = ruled.limits[ruled.limit[0]] if ruled.limit[0] >= 0 else ""
    interval, until = rules.interval_days[0], rules.put_off_until[0]
    if not np.isnan(interval):
        inputs.insert(0, Input(OWN_INTERVAL, float(interval), "days", "record"))
        if ruled.due[0] == model.due[0] and limit != OWN_INTERVAL:
            parts.append("Its own interval has no day to count from: our models' dates stay.")
        else:
            parts.append(f"By its own interval of {number(interval)} days.")
            since = "last done" if not np.isnan(done[0]) else "laid up"
            start = done[0] if not np.isnan(done[0]) else laid_up
            worked = f"{spoken(start)} + {number(interval)} days = {spoken(start + interval)}"
            steps.insert(0, Step("its own interval", f"due = {since} + interval", worked))
    if limit == NOT_BEFORE:
        day = float(rules.not_before[0])
        inputs.insert(0, Input("not before", known_day(day) or "", "", "record"))
        parts.append(f"Not before {spoken(day)}, as was decided for it.")
    if ruled.holds[ruled.hold[0]] == PUT_OFF and ruled.hold[0] != NOT_HELD:
        inputs.insert(0, Input("put off until", known_day(float(until)) or "", "", "record"))
        parts.append(f"Put off until {spoken(float(until))}.")
    if not parts:
        return reason
    own = Source("decided for this car, with its reason", "policy")
    return replace(
        reason,
        summary=" ".join((*parts, alone)),
        inputs=tuple(inputs),
        steps=tuple(steps),
        sources=(own, *reason.sources),
    )

"""What may be done with the car: computed from gates, tags and findings, never typed.

Rules: each permission needs its own stages through and every permission before it. A stop at any
stage takes away every permission whose ground includes that stage. A tag or a hazard takes away its
own permission and all later ones. A result that holds for now only keeps the car off the road.
"May crank" is the starter with the plugs in place; a car without a spark may be cranked, not run.

A single step or test asks for less: its act has grounds of its own, check by check. Cranking in bursts with
the plugs out needs an engine that turns, oil, a battery and sound wiring, not its spark; a run of a test
needs no charge and no steady temperature, which is what it may be looking for.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from scheduler.recommission.stages.acts import Act
from scheduler.recommission.stages.gates import (
    THROUGH,
    CheckState,
    OpenTask,
    StageState,
    State,
    open_tasks,
    stage_states,
)
from scheduler.recommission.stages.plan import CHECKS, ORDER, Plan
from scheduler.recommission.stages.results import Result
from scheduler.recommission.tags import Permission, Tag
from scheduler.vocabulary.errors import BadInput

# The stages that each permission adds, and the last stage whose stop takes it away.
NEEDS: dict[Permission, tuple[str, ...]] = {
    Permission.CRANK: ("R1", "R2", "R3", "R4", "R5", "R6"),
    Permission.RUN: ("R5b", "R7", "R8"),
    Permission.MOVE: ("R9", "R10", "R11", "R12", "R13"),
    Permission.ROAD: ("R0", "R13a", "R14", "R15"),
}
GROUND: dict[Permission, str] = {
    Permission.CRANK: "R6",
    Permission.RUN: "R9",
    Permission.MOVE: "R13",
    Permission.ROAD: "R15",
}

# A stop here takes away no more than this, though stages of earlier permissions come after it.
STOPS_FROM: dict[str, Permission] = {"R5b": Permission.RUN}

_SAFE = ("steady", "fuel_leak", "droppings")
_HAND = (*_SAFE, "intake_clear", "exhaust_clear", "tags_reconciled", "bores_soaked", "bores_seen")
_POWER = (*_SAFE, "fuel_out", "vapour", "gas_system", "loom", "first_power")
_CRANK = (
    *_HAND,
    *_POWER,
    *("hand_turn", "valves_move", "belts_free", "cam_belt", "sump_water", "new_oil"),
    *("battery_rest", "battery_load"),
)
_RUN = (
    *_CRANK,
    *("frost_seen", "pressure_cap", "coolant_pressure", "tinware_clear", "preoil", "cranking_volts"),
    *("points_closed", "spark", "stop_proven", "glow_plugs", "compression", "compression_diesel"),
    *("tank_line_off", "carburettor_clean", "injection_pressure", "injection_mechanical", "bled", "refitted"),
    "static_leak",
)
# The checks that must be through before each act, where the plan has them.
ACT_NEEDS: dict[Act, tuple[str, ...]] = {
    Act.LOOK: (),
    Act.HAND: _HAND,
    Act.POWER: _POWER,
    Act.SPARK: _POWER,
    Act.CRANK: _CRANK,
    Act.RUN: _RUN,
}
# A stop of the first run that forbids another one.
RUN_STOPS = ("oil_pressure_start", "knock_leak_smoke")
# The acts that each hazard forbids; one not named forbids none.
AFTER_LOOKING = (Act.HAND, Act.POWER, Act.SPARK, Act.CRANK, Act.RUN)
WITH_POWER = (Act.POWER, Act.SPARK, Act.CRANK, Act.RUN)
ACT_HAZARDS: dict[str, tuple[Act, ...]] = {
    "fuel leak": WITH_POWER,
    "untreated droppings": AFTER_LOOKING,
    "not steady": AFTER_LOOKING,
    "engine seized": (Act.CRANK, Act.RUN),
    "bare wiring": WITH_POWER,
    "no oil pressure": (Act.RUN,),
    "knock": (Act.RUN,),
    "coolant leak": (Act.RUN,),
}

# Things seen at the car that take a permission away, whatever the gates say.
HAZARDS: dict[str, tuple[Permission, str]] = {
    "fuel leak": (Permission.CRANK, "petrol leaks or smells: fire"),
    "untreated droppings": (Permission.CRANK, "droppings not yet treated: disease"),
    "not steady": (Permission.CRANK, "the car does not stand safe"),
    "engine seized": (Permission.CRANK, "the engine does not turn by hand"),
    "bare wiring": (Permission.CRANK, "bare or hot wiring: fire"),
    "no oil pressure": (Permission.RUN, "no oil pressure: the bearings run dry"),
    "knock": (Permission.RUN, "the engine knocks"),
    "coolant leak": (Permission.RUN, "coolant is being lost"),
    "soft pedal": (Permission.MOVE, "the brake pedal sinks or is soft"),
    "brake drags": (Permission.MOVE, "a brake does not let go"),
    "tyre cord or bulge": (Permission.MOVE, "a tyre shows cord, a bulge or separation"),
    "throttle sticks": (Permission.MOVE, "the throttle does not close by itself"),
    "steering play": (Permission.MOVE, "the steering has play or binds"),
    "tyres over 10 years": (Permission.ROAD, "a tyre is over ten years old"),
    "lamps": (Permission.ROAD, "lamps or horn do not work"),
}

NOTHING_KNOWN = "nothing is known of the car: look it over first"


@dataclass(frozen=True)
class Allowed:
    """One permission: given or not, and every reason that stands in its way; or unknown: nobody looked."""

    permission: Permission
    label: str
    given: bool
    reasons: tuple[str, ...]
    unknown: bool = False


@dataclass(frozen=True)
class Permissions:
    """The four permissions with the stages and open tasks that they were computed from."""

    allowed: tuple[Allowed, ...]
    stages: tuple[StageState, ...]
    open_tasks: tuple[OpenTask, ...]
    acts: Mapping[Act, tuple[str, ...]]  # what stands in the way of each act

    def given(self, permission: Permission) -> bool:
        """Whether one permission is given."""
        return self.allowed[permission].given


def permissions(
    plan: Plan, results: Sequence[Result], tags: Sequence[Tag] = (), hazards: Sequence[str] = ()
) -> Permissions:
    """What may be done with a car now; ``hazards`` are names in ``HAZARDS`` (BadInput otherwise)."""
    if strange := sorted(set(hazards) - set(HAZARDS)):
        raise BadInput("hazards", f"{', '.join(strange)}: none of {', '.join(HAZARDS)}")
    states, tasks = stage_states(plan, results), open_tasks(plan, results)
    allowed: list[Allowed] = []
    before: tuple[str, ...] = ()
    for permission in Permission:
        own = _gates(permission, states) + _seen(permission, tags, hazards)
        if permission is Permission.ROAD:
            own += tuple(f"open: {task.text}" for task in tasks)
        before = tuple(dict.fromkeys(before + own))
        allowed.append(Allowed(permission, permission.label, not before, before))
    return Permissions(tuple(allowed), states, tasks, act_reasons(states, tags, hazards))


def act_reasons(
    states: Sequence[StageState], tags: Sequence[Tag], hazards: Sequence[str]
) -> dict[Act, tuple[str, ...]]:
    """What stands in the way of each act, nothing where it may be done."""
    checks = {check.check: (check, stage) for stage in states for check in stage.checks}
    return {
        act: (
            *(
                _missing(*checks[key])
                for key in needs
                if key in checks and checks[key][0].state not in THROUGH
            ),
            *(_missing(*checks[key]) for key in RUN_STOPS if act is Act.RUN and _stopped(checks, key)),
            *(HAZARDS[name][1] for name in sorted(set(hazards)) if act in ACT_HAZARDS.get(name, ())),
            *(f"tag: {tag.label} ({tag.text})" for tag in _hung(tags) if tag.forbids(act)),
        )
        for act, needs in ACT_NEEDS.items()
    }


def _missing(check: CheckState, stage: StageState) -> str:
    return f"{stage.stage} {CHECKS[check.check].measure or CHECKS[check.check].do}: {check.state}"


def _stopped(checks: Mapping[str, tuple[CheckState, StageState]], key: str) -> bool:
    return key in checks and checks[key][0].state is State.STOP


def _hung(tags: Sequence[Tag]) -> list[Tag]:
    return sorted(tags, key=lambda tag: tag.key)


def stops_from(stage: str) -> Permission | None:
    """The first permission that a stop at this stage takes away."""
    if stage in STOPS_FROM:
        return STOPS_FROM[stage]
    return next((one for one in Permission if ORDER[stage] <= ORDER[GROUND[one]]), None)


def unseen(made: Permissions) -> Permissions:
    """The same for a car of which nothing is known: nothing is given before somebody has looked."""
    allowed = tuple(
        replace(one, given=False, reasons=(NOTHING_KNOWN, *one.reasons), unknown=not one.reasons)
        for one in made.allowed
    )
    return replace(made, allowed=allowed)


def _gates(permission: Permission, states: Sequence[StageState]) -> tuple[str, ...]:
    missing = tuple(
        f"{state.stage} {state.title}: {state.state}"
        for state in states
        if state.stage in NEEDS[permission] and state.state not in THROUGH
    )
    stopped = tuple(
        f"{state.stage} {state.title}: {state.state}"
        for state in states
        if state.state is State.STOP and stops_from(state.stage) is permission
    )
    return missing + stopped


def _seen(permission: Permission, tags: Sequence[Tag], hazards: Sequence[str]) -> tuple[str, ...]:
    hung = _hung(tags)
    tagged = tuple(f"tag: {tag.label} ({tag.text})" for tag in hung if tag.revokes is permission)
    return tagged + tuple(HAZARDS[name][1] for name in sorted(set(hazards)) if HAZARDS[name][0] is permission)

"""What may be done with the car: computed from gates, tags and findings, never typed.

Rules: each permission needs its own stages through and every permission before it. A stop at any
stage takes away every permission whose ground includes that stage. A tag or a hazard takes away its
own permission and all later ones. A result that holds for now only keeps the car off the road.
Cranking in bursts with the plugs out, to bring up oil, is part of stage R6 and may begin when R3 to
R5 are through; "may crank" is the starter with the plugs in place or for compression.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from scheduler.recommission.stages.gates import THROUGH, OpenTask, StageState, State, open_tasks, stage_states
from scheduler.recommission.stages.plan import ORDER, Plan
from scheduler.recommission.stages.results import Result
from scheduler.recommission.tags import Permission, Tag, kind_of
from scheduler.vocabulary.errors import BadInput

# The stages that each permission adds, and the last stage whose stop takes it away.
NEEDS: dict[Permission, tuple[str, ...]] = {
    Permission.CRANK: ("R1", "R2", "R3", "R4", "R5", "R6"),
    Permission.RUN: ("R7", "R8"),
    Permission.MOVE: ("R9", "R10", "R11", "R12", "R13"),
    Permission.ROAD: ("R0", "R14", "R15"),
}
GROUND: dict[Permission, str] = {
    Permission.CRANK: "R6",
    Permission.RUN: "R9",
    Permission.MOVE: "R13",
    Permission.ROAD: "R15",
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

    def given(self, permission: Permission) -> bool:
        """Whether one permission is given."""
        return self.allowed[permission].given


def permissions(
    plan: Plan, results: Sequence[Result], tags: Sequence[Tag] = (), hazards: Sequence[str] = ()
) -> Permissions:
    """What may be done with a car now; ``hazards`` are names in ``HAZARDS``."""
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
    return Permissions(tuple(allowed), states, tasks)


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
        if state.state is State.STOP and ORDER[state.stage] <= ORDER[GROUND[permission]]
    )
    return missing + stopped


def _seen(permission: Permission, tags: Sequence[Tag], hazards: Sequence[str]) -> tuple[str, ...]:
    hung = sorted((tag for tag in tags if tag.cleared is None), key=lambda tag: tag.key)
    tagged = tuple(
        f"tag: {kind.label} ({tag.text})" for tag in hung if (kind := kind_of(tag)).revokes is permission
    )
    return tagged + tuple(HAZARDS[name][1] for name in sorted(set(hazards)) if HAZARDS[name][0] is permission)

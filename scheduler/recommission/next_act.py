"""The one thing to do next: a step, a step to mend and repeat, a tag or hazard to clear, the end, or a call
for help.

Rule: what has stopped comes first, since it may be dangerous and others rest on it; then the first step
whose stage may begin and whose act has its own grounds; then what could not be done, which somebody else
does; then what holds for now only; then tags and hazards. So no state of a plan is without a next thing.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from scheduler.recommission.permissions import HAZARDS, Permissions
from scheduler.recommission.stages.gates import THROUGH, CheckState, StageState, State
from scheduler.recommission.stages.plan import CHECKS, Plan
from scheduler.recommission.stages.steps import Check
from scheduler.recommission.tags import Tag


class Kind(StrEnum):
    """What sort of thing comes next."""

    DO = "do this step"
    AGAIN = "mend it, then do this step again"
    CALL = "stop here and call a qualified person"
    CLEAR = "clear this first"
    END = "through: nothing is left to do"


@dataclass(frozen=True)
class NextAct:
    """One thing to do: the step it is about ("" for none), and in words what and why."""

    kind: Kind
    check: str
    text: str


def next_act(
    plan: Plan, gates: Permissions, tags: Sequence[Tag] = (), hazards: Sequence[str] = ()
) -> NextAct:
    """What comes next for a car whose gates, tags and hazards are these.

    >>> from scheduler.recommission.permissions import permissions
    >>> from scheduler.recommission.stages.plan import Dormancy, plan_for
    >>> plan = plan_for(Dormancy.FROM_3)
    >>> next_act(plan, permissions(plan, [])).check
    'photographed'
    """
    own = {check.key: check for check in plan.checks}
    pairs = [(own[check.check], check, stage) for stage in gates.stages for check in stage.checks]
    stopped = [(check, now) for check, now, _ in pairs if now.state is State.STOP]
    if stopped:
        return _after_stop(*stopped[0])
    for check, now, stage in pairs:
        if now.state is State.UNDONE and stage.may_begin and not gates.acts[check.act]:
            return NextAct(Kind.DO, check.key, check.do)
    failed = next((check for check, now, _ in pairs if now.state is State.COULD_NOT), None)
    if failed is not None:
        return NextAct(
            Kind.CALL, failed.key, f"It could not be done: {failed.do} Needed: {failed.instrument}."
        )
    return _to_clear(gates, tags, hazards) or _waits(pairs, gates) or NextAct(Kind.END, "", Kind.END.value)


def _after_stop(check: Check, now: CheckState) -> NextAct:
    if check.qualified:
        return NextAct(Kind.CALL, check.key, f"{check.qualified} Then again: {check.do}")
    return NextAct(Kind.AGAIN, check.key, f"{now.next_action} Then again: {check.do}".strip())


def _to_clear(gates: Permissions, tags: Sequence[Tag], hazards: Sequence[str]) -> NextAct | None:
    for task in gates.open_tasks:
        return NextAct(Kind.DO, task.settled_by, CHECKS[task.settled_by].do)
    for name in hazards:
        return NextAct(Kind.CLEAR, "", f"Hazard: {HAZARDS[name][1]}.")
    for tag in tags:
        return NextAct(Kind.CLEAR, "", f"Warning tag: {tag.label} ({tag.text}).")
    return None


def _waits(pairs: Sequence[tuple[Check, CheckState, StageState]], gates: Permissions) -> NextAct | None:
    """A step that is held by nothing that can be done: never silent."""
    held = next(((check, stage) for check, now, stage in pairs if now.state not in THROUGH), None)
    if held is None:
        return None
    check, stage = held
    why = "; ".join((*gates.acts[check.act], *(f"waits for {key}" for key in stage.waits_for)))
    return NextAct(Kind.CALL, check.key, f"{check.do} Held by: {why}.")

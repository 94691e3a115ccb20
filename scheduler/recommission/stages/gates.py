"""From the log of results to the state of every stage: what is through, what is shut, what stays open.

Rule: of each check only the latest result counts, so the order in which entries arrive never
matters. A stage is through when every check of it has passed or is under caution. A stop shuts the
stage until that check has been done again. A temporary result stays open until the check that
settles it has passed, later: a line that was cleared is not mended by flowing once more.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum

from scheduler.recommission.stages.plan import CHECKS, Plan
from scheduler.recommission.stages.results import Result, grade
from scheduler.recommission.stages.steps import Check, Grade
from scheduler.vocabulary.errors import BadInput


class State(StrEnum):
    """The state of a check or a stage."""

    STOP = "stop"
    UNDONE = "not done"
    COULD_NOT = "could not be done"
    TEMPORARY = "passed for now, still open"
    CAUTION = "caution"
    PASS = "pass"  # noqa: S105 - a state, no secret


THROUGH = frozenset({State.TEMPORARY, State.CAUTION, State.PASS})
OPEN_GATE = {Grade.PASS: State.PASS, Grade.CAUTION: State.CAUTION, Grade.STOP: State.STOP}


@dataclass(frozen=True)
class CheckState:
    """One check as it stands, with what to do next if it is not through."""

    check: str
    state: State
    result: Result | None
    next_action: str
    qualified: str


@dataclass(frozen=True)
class StageState:
    """One stage as it stands; ``waits_for`` names the earlier stages that are not through."""

    stage: str
    title: str
    state: State
    checks: tuple[CheckState, ...]
    waits_for: tuple[str, ...]

    @property
    def is_done(self) -> bool:
        """Whether it asks for steps, and each is through: one that asks for none proves nothing."""
        return bool(self.checks) and self.state in THROUGH

    @property
    def may_begin(self) -> bool:
        """Whether every stage that it follows is through."""
        return not self.waits_for


@dataclass(frozen=True)
class OpenTask:
    """A result that holds for now only, and what settles it."""

    check: str
    settled_by: str
    text: str


def latest(plan: Plan, results: Sequence[Result]) -> dict[str, Result]:
    """The latest result of each check; of two at the same moment the worse counts.

    BadInput: a result of a check that neither the plan nor the table knows.
    """
    checks = CHECKS | {check.key: check for check in plan.checks}
    if strange := sorted({result.check for result in results} - set(checks)):
        raise BadInput("check", f"{', '.join(strange)}: no such check")
    ordered = sorted(
        results, key=lambda result: (result.at, _badness(checks[result.check], result), repr(result))
    )
    return {result.check: result for result in ordered}


def _badness(check: Check, result: Result) -> int:
    graded = grade(check, result)
    return len(Grade) if graded is None else list(Grade).index(graded)


def stage_states(plan: Plan, results: Sequence[Result]) -> tuple[StageState, ...]:
    """Every stage of the plan as the log has it."""
    log = latest(plan, results)
    held = _held(plan, results, log)
    states: dict[str, StageState] = {}
    for stage in plan.stages:
        checks = tuple(_check(check, log, held) for check in stage.checks)
        waits_for = tuple(key for key in stage.after if states[key].state not in THROUGH)
        state = _worst(checks, waits_for)
        states[stage.key] = StageState(stage.key, stage.title, state, checks, waits_for)
    return tuple(states.values())


def _worst(checks: Sequence[CheckState], waits_for: Sequence[str]) -> State:
    """The worst of its checks; a stage that asks nothing (yet) is through when what it follows is."""
    order = list(State)
    nothing = State.UNDONE if waits_for else State.PASS
    return min((check.state for check in checks), key=order.index, default=nothing)


def _held(plan: Plan, results: Sequence[Result], log: Mapping[str, Result]) -> frozenset[str]:
    """The checks with a result that held for now only and that nothing has settled since."""
    own = {check.key: check for check in plan.checks if check.temporary}
    kept = [
        result for result in results if result.check in own and result.value in own[result.check].temporary
    ]
    return frozenset(one.check for one in kept if not _settled(own[one.check], one, log))


def _check(check: Check, log: Mapping[str, Result], held: frozenset[str]) -> CheckState:
    result = log.get(check.key)
    state = State.UNDONE if result is None else _state(check, result, held)
    todo = check.do if state is State.UNDONE else check.next_action
    return CheckState(
        check.key,
        state,
        result,
        "" if state is State.PASS else todo,
        check.qualified if state is State.STOP else "",
    )


def _state(check: Check, result: Result, held: frozenset[str]) -> State:
    graded = grade(check, result)
    if graded is None:
        return State.COULD_NOT
    if graded is not Grade.STOP and check.key in held:
        return State.TEMPORARY
    return OPEN_GATE[graded]


def _settled(check: Check, result: Result, log: Mapping[str, Result]) -> bool:
    """Whether the check that settles a temporary result has passed, no earlier than it."""
    settling = log.get(check.temporary_until)
    if settling is None or settling.at < result.at:
        return False
    return grade(CHECKS[settling.check], settling) is Grade.PASS


def open_tasks(plan: Plan, results: Sequence[Result]) -> tuple[OpenTask, ...]:
    """What is passed for now only."""
    states = [check for stage in stage_states(plan, results) for check in stage.checks]
    return tuple(
        OpenTask(state.check, until, f"{CHECKS[state.check].do} Open until: {CHECKS[until].do}")
        for state in states
        if state.state is State.TEMPORARY and (until := CHECKS[state.check].temporary_until)
    )

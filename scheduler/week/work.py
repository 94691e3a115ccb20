"""The duties as work, sorted by what the planner asks of them; their rows stand in the vocabulary."""

from typing import Final

from scheduler.vocabulary.duties import DUTIES

WORK: Final = {duty.code: duty.work for duty in DUTIES}
# The one that is done by moving the car: who may do it may move cars.
MOVING: Final = next(code for code, work in WORK.items() if work.by_moving)
MOVE_MINUTES: Final = WORK[MOVING].minutes
MOVE_RANK: Final = WORK[MOVING].rank
WARMING: Final = frozenset(code for code, work in WORK.items() if work.warms)
BEFORE_WARMING: Final = frozenset(code for code, work in WORK.items() if work.before_warming)

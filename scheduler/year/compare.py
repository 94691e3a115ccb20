"""Today's practice and another, side by side over the coming year."""

from dataclasses import dataclass

from scheduler.condition.prices import Rates
from scheduler.duties.conditions import Fleet
from scheduler.duties.policy import Policy
from scheduler.year.changes import Changes, Practice, changed, policy_with, practice_of
from scheduler.year.costs import Outcome, outcome
from scheduler.year.energy import maintained_wh
from scheduler.year.year import YEAR_DAYS, year_of_care


@dataclass(frozen=True)
class Comparison:
    """The same cars over the same year: as they are kept, and as they would be."""

    now: Outcome
    changed: Outcome


def compare(fleet: Fleet, changes: Changes, today: float, policy: Policy, rates: Rates) -> Comparison:
    """A year from ``today`` (ordinal) with and without ``changes``, each by ``year_of_care``.

    Raises BadInput naming what in the changes cannot be.
    """
    other = changed(fleet, changes, today)
    return Comparison(
        _outcome(fleet, today, policy, Practice(), rates),
        _outcome(other, today, policy_with(policy, changes), practice_of(changes), rates),
    )


def _outcome(fleet: Fleet, today: float, policy: Policy, practice: Practice, rates: Rates) -> Outcome:
    year = year_of_care(fleet, today, policy, practice)
    drawn = maintained_wh(fleet, today, YEAR_DAYS, policy, rates.maintainer_w)
    return outcome(year, float(drawn.sum()), rates)

"""A tree and the rules of a search as plain values, for a phone that searches without a signal.

``fault_search.js`` computes from them what ``diagnosis`` computes here; a test walks both side by side.
"""

from typing import Any

from scheduler.condition.likelihood import LADDER
from scheduler.faults import diagnosis, search
from scheduler.faults.model import OTHER, Probe, Tree, for_volts
from scheduler.recommission.stages.acts import Act


def rules() -> dict[str, Any]:
    """The limits that decide what comes next and where a search ends, shares of 1 and bits."""
    return {
        "confirm_from": search.CONFIRM_FROM,
        "found_from": search.FOUND_FROM,
        "not_listed_from": search.NOT_LISTED_FROM,
        "contradicts_below": search.CONTRADICTS_BELOW,
        "useful_bits": search.USEFUL_BITS,
        "same_eyes": search.SAME_EYES,
        "most_readings": search.MOST_READINGS,
        "once_more": search.ONCE_MORE,
        "digits": search.DIGITS,
        "unlikely_below": diagnosis.UNLIKELY_BELOW,
        "another": diagnosis.ANOTHER,
        "ladder": [list(rung) for rung in LADDER],
        "acts": {act.value: act.label for act in Act},
    }


def portable(tree: Tree, volts: int | None = None) -> dict[str, Any]:
    """The tree with its chances written out; ``volts`` as in ``diagnose``.

    ``table`` of a test is P(outcome | cause), a row an outcome, in the order of ``causes``; ``confirms`` is
    the place of a cause, -1 for none; ``other`` the place of "something else".

    >>> from scheduler.faults.table import TREES
    >>> first = portable(TREES["cranks-not"])["tests"][0]
    >>> first["key"], len(first["table"]) == len(first["outcomes"])
    ('rest_volts', True)
    """
    keys = [cause.key for cause in tree.causes]
    return {
        "symptom": tree.symptom,
        "label": tree.label,
        "caution": tree.caution,
        "call": tree.call,
        "other": keys.index(OTHER),
        "prior": tree.prior.tolist(),
        "causes": [{"key": one.key, "label": one.label, "remedy": one.remedy} for one in tree.causes],
        "tests": [_test(tree, place, probe, volts) for place, probe in enumerate(tree.probes)],
    }


def _test(tree: Tree, place: int, probe: Probe, volts: int | None) -> dict[str, Any]:
    table = tree.table[place, : len(probe.outcomes)]
    return {
        "key": probe.key,
        "do": for_volts(probe.do, volts),
        "minutes": probe.minutes,
        "effort": probe.effort_minutes,
        "acts": [act.value for act in Act if act in probe.acts],
        "could_not": probe.could_not,
        "caution": probe.caution,
        "confirms": int(tree.confirms[place]),
        "outcomes": [{"key": one.key, "words": for_volts(one.words, volts)} for one in probe.outcomes],
        "table": table.tolist(),
    }

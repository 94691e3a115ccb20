"""What one car needs next, system by system, and what it may cost by its organisation's own rates."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date

from collection.due.core.whatif import rates
from collection.life.core.gather import gather
from collection.life.core.memoised import memoised
from collection.life.core.store import policy_of
from collection.models import Regime, Vehicle
from scheduler.condition import Money, Need, needs, outlooks, price_terms
from scheduler.condition.estimate import rated, total
from scheduler.condition.findings import findings
from scheduler.condition.outlook import SystemOutlook as Part
from scheduler.duties.conditions import REGIMES, Fleet
from scheduler.duties.policy import Policy, PolicyTerm

IN_CARE = tuple(REGIMES.index(name) for name in (Regime.EXERCISED, Regime.PRESERVED))
__all__ = ["Money", "Need", "Outlook", "Part", "PolicyTerm", "Seen", "outlook_of", "terms"]


@dataclass(frozen=True)
class Outlook:
    """Every system with its parts, duties, likely repairs and cost, and all costs together."""

    needs: tuple[Need, ...]
    total: Money


def terms() -> tuple[PolicyTerm, ...]:
    """Every rate that an organisation may set as its own: time, stuff and parts."""
    return (*rates(), *price_terms())


@dataclass(frozen=True)
class Seen:
    """What inspections say: found and not mended (day, words), and the last clean one, if recent."""

    found: tuple[tuple[date, str], ...] = ()
    clean: date | None = None


def outlook_of(
    vehicle: Vehicle,
    *,
    late: Iterable[str],
    asked: Iterable[str],
    seen: Seen,
    own: Mapping[str, float],
    evidence: tuple[float, float | None] | None,
    today: date,
) -> Outlook:
    """``late`` are duties past their window, ``asked`` those to be done now, ``own`` the rates by name,
    ``evidence`` the shortest and longest days since the last road use where evidence bounds them.

    ValueError where the record does not allow the computation.
    """
    fleet, policy = gather([vehicle.pk], today=today).fleet, policy_of(vehicle.organisation_id)
    day, rates_said = float(today.toordinal()), tuple(sorted(own.items()))
    given = (frozenset(late), frozenset(asked), seen, rates_said, vehicle.tank_litres, evidence)
    return memoised(_outlook, fleet, day, policy, *given)


def _outlook(  # noqa: PLR0913  # all that an outlook depends on
    fleet: Fleet,
    today: float,
    policy: Policy,
    late: frozenset[str],
    asked: frozenset[str],
    seen: Seen,
    own: tuple[tuple[str, float], ...],
    tank_litres: float | None,
    evidence: tuple[float, float | None] | None,
) -> Outlook:
    told = outlooks(fleet, today, policy, late, findings(seen.found, seen.clean), evidence)
    in_care = int(fleet.regime[0]) in IN_CARE
    found = needs(told, asked, *rated(dict(own)), tank_litres, in_care=in_care)
    return Outlook(found, total(found))

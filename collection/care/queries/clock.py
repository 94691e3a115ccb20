"""Whether this machine's clock stands behind what the record already holds: set back, or set forward before.

The order of the record is not the clock's to change: an entry is never recorded earlier than the
signed statement or the entry that it stands upon.

The server's clock may be wrong: no rule may compare a stored moment with now in one direction only, or a
clock that ran ahead silences the rule for as long as it did.
"""

from datetime import datetime, timedelta

from django.db.models import QuerySet, Subquery
from django.db.models.functions import Coalesce

from collection.chain.check_anchors import CLOCK_GRACE
from collection.models import Anchor, Chain, Link, Organisation, Vehicle

# detail of an entry, written by us: seconds by which the clock stood behind the record
CLOCK_BEHIND = "clock_behind_s"
IN_STEP = timedelta()
# of a link: when what it chains was written down
RECORDED_AT = Coalesce(
    "entry__recorded_at",
    "record__recorded_at",
    "evidence__chained_at",
    "evidence__recorded_at",
    "setting__recorded_at",
)


def clock_behind(vehicle: Vehicle, now: datetime) -> timedelta:
    """By how much the clock stands behind the car's record; nothing where a verifier would not mind."""
    # the link before its entry: without statistics, as after an import, PostgreSQL would join whole tables
    links = Link.objects.filter(chain__vehicle=vehicle)
    return _behind(now, [*_recorded(links), *_stated(vehicle.organisation_id)])


def clock_behind_chain(chain: Chain, now: datetime) -> timedelta:
    """By how much the clock stands behind a chain of what is set."""
    return _behind(now, [*_recorded(chain.links.all()), *_stated(chain.organisation_id)])


def _recorded(links: QuerySet[Link]) -> list[datetime]:
    """When what the newest link chains was written down."""
    newest = Link.objects.filter(pk=Subquery(links.order_by("-seq").values("pk")[:1]))
    return list(newest.values_list(RECORDED_AT, flat=True))


def clock_behind_statements(organisation: Organisation, now: datetime) -> timedelta:
    """By how much the clock stands behind the organisation's last signed statement."""
    return _behind(now, _stated(organisation.pk))


def _stated(organisation_pk: int | None) -> list[datetime]:
    anchors = Anchor.objects.filter(organisation=organisation_pk).order_by("-number")
    return list(anchors.values_list("at", flat=True)[:1])


def _behind(now: datetime, held: list[datetime]) -> timedelta:
    behind = max(held, default=now) - now
    return behind if behind > CLOCK_GRACE else IN_STEP

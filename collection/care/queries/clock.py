"""Whether this machine's clock stands behind what the record already holds: set back, or set forward before.

The order of the record is not the clock's to change: an entry is never recorded earlier than the
signed statement or the entry that it stands upon.

The server's clock may be wrong: no rule may compare a stored moment with now in one direction only, or a
clock that ran ahead silences the rule for as long as it did.
"""

from datetime import datetime, timedelta

from django.db.models import Subquery
from django.db.models.functions import Coalesce

from collection.chain.check_anchors import CLOCK_GRACE
from collection.models import Anchor, Link, Organisation, Vehicle

# detail of an entry, written by us: seconds by which the clock stood behind the record
CLOCK_BEHIND = "clock_behind_s"
IN_STEP = timedelta()


def clock_behind(vehicle: Vehicle, now: datetime) -> timedelta:
    """By how much the clock stands behind the car's record; nothing where a verifier would not mind."""
    # the link before its entry: without statistics, as after an import, PostgreSQL would join whole tables
    last = Link.objects.filter(chain__vehicle=vehicle).order_by("-seq").values("pk")[:1]
    links = Link.objects.filter(pk=Subquery(last))
    recorded = links.values_list(Coalesce("entry__recorded_at", "record__recorded_at"), flat=True)
    return _behind(now, [*recorded, *_stated(vehicle.organisation_id)])


def clock_behind_statements(organisation: Organisation, now: datetime) -> timedelta:
    """By how much the clock stands behind the organisation's last signed statement."""
    return _behind(now, _stated(organisation.pk))


def _stated(organisation_pk: int) -> list[datetime]:
    anchors = Anchor.objects.filter(organisation=organisation_pk).order_by("-number")
    return list(anchors.values_list("at", flat=True)[:1])


def _behind(now: datetime, held: list[datetime]) -> timedelta:
    behind = max(held, default=now) - now
    return behind if behind > CLOCK_GRACE else IN_STEP

"""What the barn charges, and who was sent a car's history."""

from datetime import timedelta

from collection.care.actions.record import Edit
from collection.demo.diary import Diary
from collection.due.actions.prices import save_rates
from collection.history.actions import make_share, note_opening, revoke_share
from collection.models import Organisation, Person, Vehicle

MONEY = "kr"  # the valley's own
RATES = {
    "hour": 420.0,
    "fuel": 19.5,
    "stabiliser": 1.2,
    "fluid": 380.0,
    "workshop_hour": 780.0,
    "parts_factor": 13.0,  # the core's own are in about a pound each
    "battery": 1450.0,
    "tyre": 1700.0,
    "brake_set": 2100.0,
    "exhaust": 4600.0,
    "small_part": 390.0,
}
BROWSER = "A browser on a desk"


def share(organisation: Organisation, cars: dict[str, Vehicle], manager: Person, diary: Diary) -> None:
    """Two cars shown to buyers: one link still open and read, one ended; their tokens nobody knows."""
    save_rates(organisation=organisation, own=RATES, money=MONEY, edit=Edit(manager, diary.now))
    now, open_scope = diary.now, {"with_prices": True, "with_place": True}
    long_ago = now - timedelta(days=40)
    ended, _ = make_share(
        vehicle=cars["KM 1091"],
        by=manager,
        now=long_ago,
        expires_at=now + timedelta(days=20),
        scope={"reader": "A dealer from down the valley"},
    )
    note_opening(
        share=ended, what="page", now=long_ago + timedelta(hours=5), network="203.0.113.0/24", browser=BROWSER
    )
    revoke_share(share=ended, now=long_ago + timedelta(days=9))
    kept, _ = make_share(
        vehicle=cars["KM 1091"],
        by=manager,
        now=now - timedelta(days=3),
        expires_at=now + timedelta(days=11),
        scope={"reader": "Marek's cousin"} | open_scope,
    )
    for hours, what in ((20, "page"), (21, "pdf"), (44, "compared")):
        at = now - timedelta(days=3) + timedelta(hours=hours)
        note_opening(share=kept, what=what, now=at, network="198.51.100.0/24", browser=BROWSER)

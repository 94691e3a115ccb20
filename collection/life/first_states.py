"""The five names of a duty's state that programmes were promised first; pages use ``duties.STATE_ORDER``."""

from datetime import date, timedelta

from django.db.models import Case, Q, Value, When

from collection.models import DutyRow

FIRST_STATES = ("late", "due", "soon", "fine", "held")
SOON_DAYS = timedelta(days=14)


def first_state_of(row: DutyRow, today: date) -> str:
    """Where today lies in the window: held, late, due, soon or fine."""
    if row.hold:
        return "held"
    if row.late and row.late < today:
        return "late"
    if row.due and row.due <= today:
        return "due"
    soon = row.due and row.due <= today + SOON_DAYS
    return "soon" if soon or (row.early and row.early <= today) else "fine"


def first_state(today: date) -> Case:
    """The same in the database's words."""
    soon = Q(due__lte=today + SOON_DAYS) | Q(early__lte=today)
    states = {"held": ~Q(hold=""), "late": Q(late__lt=today), "due": Q(due__lte=today), "soon": soon}
    return Case(*(When(asked, then=Value(name)) for name, asked in states.items()), default=Value("fine"))

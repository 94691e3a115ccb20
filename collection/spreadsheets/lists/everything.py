"""Everything an organisation has on record, a table to a table, as it is stored."""

from typing import Any

from django.db.models import Q

from collection.models import (
    Battery,
    Bay,
    Building,
    Climate,
    ClimateMonth,
    Equipment,
    Evidence,
    Hand,
    HandbookValue,
    Handover,
    Holiday,
    Membership,
    OpeningHours,
    OtherHours,
    Owner,
    PinnedChoice,
    Rate,
    ReadyBy,
    RecommissionCase,
    ShiftNote,
    Site,
    StormDay,
    Threshold,
    Way,
)
from collection.models.care import effective
from collection.permissions import Access
from collection.spreadsheets.lists.plain import dump
from collection.spreadsheets.lists.records import cars_table, log_table
from collection.spreadsheets.sheets.wording import CellFormat
from collection.spreadsheets.sheets.writing import Table

# title, table, and the way from its rows to their organisation
TABLES: tuple[tuple[str, Any, str], ...] = (
    ("Owners", Owner, "organisation"),
    ("Sites", Site, "organisation"),
    ("Buildings", Building, "site__organisation"),
    ("Bays", Bay, "building__site__organisation"),
    ("Climates", Climate, "organisation"),
    ("Climate months", ClimateMonth, "climate__organisation"),
    ("Members", Membership, "organisation"),
    ("Intervals and limits", Threshold, "organisation"),
    ("Prices", Rate, "organisation"),
    ("Opening hours", OpeningHours, "site__organisation"),
    ("Staff", Hand, "site__organisation"),
    ("Other hours", OtherHours, "site__organisation"),
    ("Holidays", Holiday, "site__organisation"),
    ("Storm days", StormDay, "site__organisation"),
    ("Notes of shifts", ShiftNote, "site__organisation"),
    ("Equipment", Equipment, "site__organisation"),
    ("Ways", Way, "start__site__organisation"),
    ("Choices by hand", PinnedChoice, "vehicle__organisation"),
    ("Ready by", ReadyBy, "vehicle__organisation"),
    ("Evidence", Evidence, "vehicle__organisation"),
    ("Put away", RecommissionCase, "vehicle__organisation"),
    ("Handbook values", HandbookValue, "vehicle__organisation"),
    ("Handed over", Handover, "organisation"),
)


def everything(access: Access) -> list[Table]:
    """Every table but keys, alarms and ways in, which no file holds. For those who manage."""
    organisation, cell_format = access.organisation, CellFormat(None)
    cars, entries = access.vehicles().order_by("pk"), access.entries()
    gone = entries.filter(Q(corrected_by__isnull=False) | Q(kind="withdrawn"))
    earlier = Battery.objects.filter(vehicle__organisation=organisation, removed_on__isnull=False)
    return [
        cars_table(cars, cell_format),
        log_table(effective(entries), cell_format, organisation),
        dump("Earlier batteries", earlier.order_by("pk")),
        dump("Corrected and withdrawn", gone.order_by("vehicle_id", "recorded_at", "pk")),
        *(
            dump(title, model.objects.filter(**{way: organisation}).order_by("pk"))
            for title, model, way in TABLES
        ),
    ]

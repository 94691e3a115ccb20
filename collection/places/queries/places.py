"""Sites, buildings and bays as the places page shows them."""

from functools import cache
from zoneinfo import available_timezones

from django.db.models import F, Prefetch, Q, QuerySet

from collection.models import UNMARKED, Bay, Building, Climate, ClimateMonth, Site, Vehicle
from collection.permissions import Access
from collection.web.sorting import Sorting


@cache
def time_zones() -> frozenset[str]:
    """Names of the zones that this machine knows, without the purely technical ones."""
    return frozenset(
        name for name in available_timezones() if "/" in name and not name.startswith("Etc/")
    ) | {"UTC"}


def sites_with_places(access: Access, order: Sorting | None = None) -> QuerySet[Site]:
    """Sites with buildings in walking order, bays as asked, and in each the car there now (``standing``)."""
    here = Prefetch("vehicles", Vehicle.objects.filter(left_on__isnull=True), to_attr="standing")
    shown = ~Q(row=UNMARKED) | Q(pk__in=Vehicle.objects.filter(left_on__isnull=True).values("bay"))
    bays = Bay.objects.filter(shown).prefetch_related(here, "blocked_by").order_by("row", "place")
    bays = order.rows(bays) if order else bays
    buildings = Building.objects.select_related("measured").prefetch_related(Prefetch("bays", bays))
    sites = access.sites().select_related("climate__measured")
    return sites.prefetch_related(Prefetch("buildings", buildings.order_by("walk_order", "name")))


def bays_beside(bay: Bay) -> QuerySet[Bay]:
    """The other bays of the building: those that could block it."""
    marked = Bay.objects.filter(building=bay.building).exclude(row=UNMARKED)
    return marked.exclude(pk=bay.pk).select_related("building")


def climates_with_months(access: Access) -> QuerySet[Climate]:
    """Climates with their months: the organisation's own, then the generic types."""
    own_first = F("organisation").desc(nulls_last=True)
    return (
        access.climates()
        .select_related("measured")
        .order_by(own_first, "name", "pk")
        .prefetch_related("months")
    )


def months_of(climate: Climate | None) -> list[ClimateMonth]:
    """Twelve months: those known, the others new."""
    known = {month.month: month for month in climate.months.all()} if climate and climate.pk else {}
    return [known.get(number) or ClimateMonth(month=number) for number in range(1, 13)]


def months_like(climate: Climate | None) -> list[ClimateMonth]:
    """Twelve new months with another climate's figures, or with none."""
    figures = ("month", "mean_c", "min_c", "max_c", "humidity_pct")
    return [ClimateMonth(**{name: getattr(month, name) for name in figures}) for month in months_of(climate)]

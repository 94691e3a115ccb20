"""The places of a workbook of ours: climates, sites, buildings and bays that are not here yet, written down.

What is here by the same name already stays as it is.
"""

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from datetime import date, datetime
from typing import Any

from django.core.exceptions import PermissionDenied, ValidationError
from django.db import transaction

from collection.care.actions.record import Edit
from collection.life.queries import local_day
from collection.models import UNMARKED, Bay, Building, Climate, ClimateMonth, Site
from collection.permissions import Access
from collection.places.actions.places import save_bay, save_building, save_climate, save_site
from collection.spreadsheets.lists.plain import headings_of
from collection.spreadsheets.sheets.cells import Cell, Sheet, is_blank, text_of

TITLES = {
    "Climates": Climate,
    "Climate months": ClimateMonth,
    "Sites": Site,
    "Buildings": Building,
    "Bays": Bay,
}
Facts = dict[str, Any]


def holds_places(sheets: Sequence[Sheet]) -> bool:
    """Whether it is a workbook of ours, with its places."""
    return {"Sites", "Buildings"} <= {sheet.name for sheet in sheets}


@transaction.atomic
def bring_places(*, access: Access, sheets: Sequence[Sheet], now: datetime) -> Counter[str]:
    """Write down the places that are not here yet; how many of each. All or none."""
    if not access.may_manage:
        raise PermissionDenied("A manager writes down places.")
    made: Counter[str] = Counter()
    edit, today = Edit(access.person, now), local_day(access.organisation, now)
    tables = {sheet.name: list(_rows(sheet)) for sheet in sheets if sheet.name in TITLES}
    try:
        made["climate"] = _bring_climates(access, tables, edit, today)
        made["site"] = _bring_sites(access, tables.get("Sites", []), edit, today)
        made["building"] = _bring_buildings(access, tables.get("Buildings", []), edit, today)
        made["bay"] = _bring_bays(access, tables.get("Bays", []), edit, today)
    except (KeyError, TypeError, ValueError, Site.DoesNotExist) as error:
        raise ValidationError(f"The places of this workbook do not fit each other: {error}.") from error
    return made


def _bring_climates(access: Access, tables: Mapping[str, list[Facts]], edit: Edit, today: date) -> int:
    here = set(Climate.objects.filter(organisation=access.organisation).values_list("name", flat=True))
    new = [facts for facts in tables.get("Climates", []) if facts["name"] not in here]
    for facts in new:
        rows = [it for it in tables.get("Climate months", []) if it["climate"] == facts["name"]]
        months = [ClimateMonth(**_plain(it, "climate")) for it in rows]
        climate = Climate(organisation=access.organisation, **facts)
        save_climate(climate=climate, months=months, edit=edit, today=today)
    return len(new)


def _bring_sites(access: Access, rows: Sequence[Facts], edit: Edit, today: date) -> int:
    here = set(access.sites().values_list("name", flat=True))
    new = [facts for facts in rows if facts["name"] not in here]
    for facts in new:
        climate = _climate(access, facts["climate"])
        site = Site(organisation=access.organisation, climate=climate, **_plain(facts, "climate"))
        save_site(site=site, edit=edit, today=today)
    return len(new)


def _bring_buildings(access: Access, rows: Sequence[Facts], edit: Edit, today: date) -> int:
    here = set(access.buildings().values_list("site__name", "name"))
    new = [facts for facts in rows if (facts["site"], facts["name"]) not in here]
    for facts in new:
        building = Building(site=access.sites().get(name=facts["site"]), **_plain(facts, "site"))
        save_building(building=building, edit=edit, today=today)
    return len(new)


def _bring_bays(access: Access, rows: Sequence[Facts], edit: Edit, today: date) -> int:
    """Bays first, then which stand in the way of which: bays of one building."""
    houses = {str(house): house for house in access.buildings().select_related("site")}
    made: dict[str, tuple[Bay, str]] = {}
    for facts in rows:
        house = houses.get(facts["building"])
        if house is None:
            raise KeyError(f"there is no building {facts['building']}")
        if not facts.get("row") or house.bays.filter(row=facts["row"], place=facts["place"]).exists():
            continue
        bay = Bay(building=house, **_plain(facts, "building", "blocked_by"))
        save_bay(bay=bay, blocked_by=(), edit=edit, today=today)
        made[f"{house.pk} {bay}"] = bay, facts.get("blocked_by") or ""
    for bay, behind in made.values():
        there = {str(other): other for other in bay.building.bays.exclude(row=UNMARKED)}
        others = [there[name] for name in behind.split("; ") if name]
        if others:
            save_bay(bay=bay, blocked_by=others, edit=edit, today=today)
    return len(made)


def _climate(access: Access, name: str) -> Climate:
    """The organisation's own of that name, else the generic one."""
    own = Climate.objects.filter(organisation=access.organisation, name=name).first()
    climate = own or Climate.objects.filter(organisation=None, name=name).first()
    if climate is None:
        raise KeyError(f"there is no climate {name}")
    return climate


def _plain(facts: Facts, *but: str) -> dict[str, Any]:
    return {name: value for name, value in facts.items() if name not in but}


def _rows(sheet: Sheet) -> Iterator[dict[str, Any]]:
    """The rows of a sheet by the fields of its table; what is empty is left out, a choice is its code."""
    fields = headings_of(TITLES[sheet.name])
    names = [fields.get(text_of(cell)) for cell in sheet.rows[0]]
    for row in sheet.rows[1:]:
        facts = {}
        for field, cell in zip(names, row, strict=False):
            if field is not None and not is_blank(cell):
                facts[field.name] = _value(field, cell)
        yield facts


def _value(field: Any, cell: Cell) -> Any:
    if field.is_relation:
        return text_of(cell)
    codes = {str(words): code for code, words in field.flatchoices}
    return codes.get(text_of(cell), text_of(cell)) if codes else field.to_python(cell)

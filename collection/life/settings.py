"""What is set for an organisation and for each of its sites: as it stands, and as it was on a day.

Each has a chain of its own. Names of its values: a column (``time_zone``), or part, which of several and
column (``building.7.shelter``, ``bay.12.row`` by the row's key, ``threshold.recharge_soc.value``). A month of
a climate is one value: mean, minimum, maximum and humidity, with spaces between. That a table was brought in
or taken back is one too (``batch.…``). Empty values are left out.
"""

from bisect import bisect_right
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, tzinfo
from functools import cached_property
from typing import Any
from zoneinfo import ZoneInfo

from collection.chain.replay import EMPTY, RECORD, Fact, timeline
from collection.models import (
    UNMARKED,
    Bay,
    Building,
    Chain,
    Climate,
    ClimateMonth,
    MeasuredClimate,
    Organisation,
    Rate,
    SettingEntry,
    SheetImport,
    Site,
    Threshold,
)

Values = dict[str, Any]
Months = tuple[tuple[float, ...], ...]  # January first: mean, minimum, maximum °C, relative humidity %
Subject = Site | Organisation

OF_ORGANISATION, OF_SITE = "organisation", "site."
SITE = ("name", "time_zone", "coldest_yard_c")
BUILDING = ("name", "shelter", "walk_order", "heated_to_c", "humidity_ceiling_pct")
MONTH = ("mean_c", "min_c", "max_c", "humidity_pct")
OF_THE_PAST = ("threshold.", "climate.", "building.", "bay.")  # what the account of a past day hangs on


def subject_of(thing: Subject) -> str:
    """How a chain names what it is of."""
    return f"{OF_SITE}{thing.pk}" if isinstance(thing, Site) else OF_ORGANISATION


def organisation_of(thing: Subject) -> int:
    """The key of the organisation that it is, or that it belongs to."""
    return thing.organisation_id if isinstance(thing, Site) else thing.pk


def stands(organisation: int, subject: str) -> Values:
    """What is set now for the subject of an organisation; nothing for a site that is gone."""
    values = _of_organisation(organisation) if subject == OF_ORGANISATION else _of_site(subject)
    return {name: value for name, value in values if value not in EMPTY}


def _of_organisation(organisation: int) -> Iterator[tuple[str, Any]]:
    yield "money", Organisation.objects.values_list("money", flat=True).get(pk=organisation)
    for name, value, reason in Threshold.objects.filter(organisation=organisation).values_list(
        "name", "value", "reason"
    ):
        yield f"threshold.{name}.value", value
        yield f"threshold.{name}.reason", reason
    for name, value in Rate.objects.filter(organisation=organisation).values_list("name", "value"):
        yield f"price.{name}", value
    batches = SheetImport.objects.filter(organisation=organisation).exclude(brought_in="", taken_back="")
    for pk, brought_in, taken_back in batches.values_list("pk", "brought_in", "taken_back"):
        yield f"batch.{pk.hex}.brought_in", brought_in
        yield f"batch.{pk.hex}.taken_back", taken_back


def _of_site(subject: str) -> Iterator[tuple[str, Any]]:
    pk = int(subject.removeprefix(OF_SITE))
    site = Site.objects.filter(pk=pk).select_related("climate").first()
    if site is None:
        return
    yield from ((name, getattr(site, name)) for name in SITE)
    yield from _of_climate("climate", site.climate, MeasuredClimate.objects.filter(site=pk).first())
    inside = {
        row.building_id: row
        for row in MeasuredClimate.objects.filter(building__site=pk).select_related("climate")
    }
    for building in Building.objects.filter(site=pk).order_by("pk"):
        start = f"building.{building.pk}"
        yield from ((f"{start}.{name}", getattr(building, name)) for name in BUILDING)
        if measured := inside.get(building.pk):
            yield from _of_climate(f"{start}.air", measured.climate, measured)
    yield from _of_bays(pk)


def _of_climate(start: str, climate: Climate, measured: MeasuredClimate | None) -> Iterator[tuple[str, Any]]:
    """A climate by its figures, which so outlast a change; ``files``: a digest of those of loggers."""
    yield f"{start}.name", climate.name
    yield f"{start}.basis", climate.basis
    yield f"{start}.files", measured.series if measured and measured.climate_id == climate.pk else ""
    for row in ClimateMonth.objects.filter(climate=climate).values("month", *MONTH):
        yield f"{start}.{row['month']}", " ".join(repr(float(row[name])) for name in MONTH)


def _of_bays(site: int) -> Iterator[tuple[str, Any]]:
    """Marked bays: the floor beside them is no place that anybody sets."""
    behind = defaultdict(list)
    for bay, other in Bay.blocked_by.through.objects.filter(from_bay__building__site=site).values_list(
        "from_bay", "to_bay"
    ):
        behind[bay].append(other)
    columns = ("building_id", "row", "place", "power_outlet", "exhaust_extraction")
    for pk, building, row, place, outlet, extraction in (
        Bay.objects.filter(building__site=site).exclude(row=UNMARKED).values_list("pk", *columns)
    ):
        yield f"bay.{pk}.building", building
        yield f"bay.{pk}.row", row
        yield f"bay.{pk}.place", place
        yield f"bay.{pk}.power_outlet", outlet or None
        yield f"bay.{pk}.exhaust_extraction", extraction or None
        yield f"bay.{pk}.behind", " ".join(map(str, sorted(behind[pk])))


def as_set(entry: SettingEntry) -> dict[str, Any]:
    """An entry under the names of every entry of a chain, moments and keys as they stand in its row."""
    return {
        "id": str(entry.pk),
        "kind": RECORD,
        "done_at": entry.done_at,
        "recorded_at": entry.recorded_at,
        "details": {**entry.facts, "opening": entry.opening},
        "corrects": None,
    }


@dataclass(frozen=True)
class BuildingVersion:
    """A building as it was on a day; ``air`` where loggers inside had been accepted."""

    shelter: str
    heated_to_c: float | None
    humidity_ceiling_pct: float | None
    air: Months | None


Written = Mapping[str, Sequence[dict[str, Any]]]  # entries of each subject, in the order of their writing


def zone_of_settings(organisation: int) -> tzinfo:
    """The zone in which the days of what is set are counted: that of the first site."""
    sites = Site.objects.filter(organisation=organisation).order_by("pk")
    return ZoneInfo(sites.values_list("time_zone", flat=True).first() or "UTC")


def settings_written(organisation: int) -> Written:
    """What was set for an organisation and its sites, entry by entry."""
    written: dict[str, list[dict[str, Any]]] = defaultdict(list)
    entries = SettingEntry.objects.filter(chain__organisation=organisation)
    for entry in entries.select_related("chain").order_by("link__seq"):
        written[entry.chain.subject].append(as_set(entry))
    return written


class Settings:
    """What was set for one organisation and its sites on any day, as far as it is ``written``."""

    def __init__(
        self,
        organisation: int,
        written: Written | None = None,
        zone: tzinfo | None = None,
        *,
        is_whole: bool = True,  # nothing was written down since
    ) -> None:
        self.organisation, self.is_whole = organisation, is_whole
        self._written = settings_written(organisation) if written is None else written
        self._zone = zone or zone_of_settings(organisation)
        self._lines: dict[tuple[str, str], list[Fact]] = {}
        self._changes: dict[tuple[str, str], list[date]] = {}
        self._parts: dict[tuple[int, ...], Settings] = {}

    def known_on(self, day: date) -> "Settings":
        """As far as it was written down by the end of a day; each chain's first entry speaks for before."""
        counts = tuple(max(1, bisect_right(each, day)) for each in self._written_days.values())
        if counts == tuple(map(len, self._written.values())):
            return self
        if counts not in self._parts:
            cut = {
                subject: entries[:count]
                for (subject, entries), count in zip(self._written.items(), counts, strict=True)
            }
            self._parts[counts] = Settings(self.organisation, cut, self._zone, is_whole=False)
        return self._parts[counts]

    @cached_property
    def _written_days(self) -> dict[str, list[date]]:
        return {
            subject: [entry["recorded_at"].astimezone(self._zone).date() for entry in entries]
            for subject, entries in self._written.items()
        }

    @cached_property
    def days(self) -> frozenset[date]:
        """Every day on which a limit, a climate or a building became otherwise, or that became known."""
        days: set[date] = set()
        for subject, entries in self._written.items():
            for entry, written in zip(entries, self._written_days[subject], strict=True):
                facts = [fact for name, fact in entry["details"].items() if name.startswith(OF_THE_PAST)]
                days |= {written} if facts else set()
                days |= {date.fromisoformat(fact["since"]) for fact in facts if fact["since"]}
        return frozenset(days)

    @cached_property
    def tells_late(self) -> bool:
        """Whether anything was written down that was so before, or that corrects what was."""
        return any(
            not entry["details"]["opening"]
            and name.startswith(OF_THE_PAST)
            and ("corrects" in fact or name.endswith(".files") or fact["since"] < written.isoformat())
            for subject, entries in self._written.items()
            for entry, written in zip(entries, self._written_days[subject], strict=True)
            for name, fact in entry["details"].items()
        )

    @cached_property
    def _names(self) -> dict[str, list[str]]:
        """Every value that the entries of each subject name."""
        return {
            subject: sorted({name for entry in entries for name in entry["details"] if "." in name})
            for subject, entries in self._written.items()
        }

    def line(self, subject: str, name: str) -> list[Fact]:
        """One value of a subject through time."""
        if (subject, name) not in self._lines:
            self._lines[subject, name] = timeline(self._written.get(subject, []), name)
        return self._lines[subject, name]

    def value_on(self, subject: str, name: str, day: date) -> Any:
        """What a value of a subject was on a day; None where it was not set."""
        line = self.line(subject, name)
        so_far = [fact for fact in line if fact.since is None or fact.since <= day.isoformat()]
        return so_far[-1].value if so_far else None

    def climate_on(self, site: int, day: date) -> Months | None:
        """The climate in force at a site; None where nothing is written of it."""
        return self._months(f"{OF_SITE}{site}", "climate", day)

    def building_on(self, site: int, building: int, day: date) -> BuildingVersion | None:
        """Shelter, warmth and air of a building; None where nothing is written of it.

        Before the day from which it is known at all, it is taken to have been as it was first.
        """
        subject, start = f"{OF_SITE}{site}", f"building.{building}"
        day = max([day, *(_day(fact) for fact in self.line(subject, f"{start}.shelter")[:1])])
        shelter, heated, ceiling = (
            self.value_on(subject, f"{start}.{name}", day)
            for name in ("shelter", "heated_to_c", "humidity_ceiling_pct")
        )
        if not shelter:
            return None
        return BuildingVersion(shelter, heated, ceiling, self._months(subject, f"{start}.air", day))

    def extraction_on(self, site: int, bay: int, day: date) -> bool | None:
        """Whether a bay had exhaust extraction; None where its row says it still, or nothing is written."""
        subject, start = f"{OF_SITE}{site}", f"bay.{bay}"
        stood = self.line(subject, f"{start}.building")
        if not stood or (self.is_whole and all(change <= day for change in self.changes(subject, start))):
            return None
        day = max(day, _day(stood[0]))  # before it is known at all, as it was first
        return bool(self.value_on(subject, f"{start}.exhaust_extraction", day))

    @property
    def sets_limits(self) -> bool:
        """Whether an interval or limit of the organisation's own was ever written down."""
        return bool(self.names(OF_ORGANISATION, "threshold"))

    def thresholds_on(self, day: date) -> dict[str, float]:
        """The organisation's own intervals and limits; every other stands at its default."""
        names = {name.split(".")[1] for name in self.names(OF_ORGANISATION, "threshold")}
        values = {
            name: self.value_on(OF_ORGANISATION, f"threshold.{name}.value", day) for name in sorted(names)
        }
        return {name: float(value) for name, value in values.items() if value is not None}

    def changes(self, subject: str, start: str) -> list[date]:
        """The days from which anything under a name (``climate``, ``building.7``) was otherwise."""
        if (subject, start) not in self._changes:
            days = {_day(fact) for name in self.names(subject, start) for fact in self.line(subject, name)}
            self._changes[subject, start] = sorted(days - {date.min})
        return self._changes[subject, start]

    def names(self, subject: str, start: str) -> list[str]:
        """The names under one (``climate``, ``building.7``) that the entries of a subject hold."""
        return [name for name in self._names.get(subject, []) if name.startswith(f"{start}.")]

    def _months(self, subject: str, start: str, day: date) -> Months | None:
        rows = [self.value_on(subject, f"{start}.{month}", day) for month in range(1, 13)]
        if not all(rows):
            return None
        return tuple(tuple(float(figure) for figure in row.split()) for row in rows)


def _day(fact: Fact) -> date:
    """The day from which it is so; the first of all where that was always."""
    return date.fromisoformat(fact.since) if fact.since else date.min


def unwritten() -> Iterator[Subject]:
    """Sites, and organisations with anything set, of which nothing is written in a chain."""
    written = set(Chain.objects.filter(vehicle=None).values_list("organisation_id", "subject"))
    things: list[Subject] = [*Site.objects.order_by("pk"), *Organisation.objects.order_by("pk")]
    for thing in things:
        key = (organisation_of(thing), subject_of(thing))
        if key not in written and stands(*key):
            yield thing

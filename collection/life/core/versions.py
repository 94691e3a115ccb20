"""The air of a place through the versions of its climate and its building: each day's is that of its day.

What loggers measured takes the place of normals on the days that they cover, as far as their files were
accepted by then. What changed is read from the chains of sites; as nothing did, from their rows alone.
"""

from collections.abc import Iterable, Iterator
from datetime import date
from functools import lru_cache
from typing import Any

from collection.life.core.measured_air import Series, series_of
from collection.life.core.once import once
from collection.life.core.places import AirVersion, place_for, place_of, transposed, version_of
from collection.life.settings import OF_SITE, BuildingVersion, Settings
from collection.models import Building, MeasuredClimate, SettingEntry, Site
from scheduler.physics.climate import Place

FOR_EVER_BEFORE = float("-inf")


def settings_of(organisation: int) -> Settings:
    """What is written of an organisation's settings; read again only when something was added."""
    return settings_of_all([organisation])[organisation]


def settings_of_all(organisations: Iterable[int]) -> dict[int, Settings]:
    """The same of several, asked of the database at once."""
    wanted = tuple(sorted(set(organisations)))
    return once(("settings", wanted), lambda: _read(wanted))


def _read(organisations: tuple[int, ...]) -> dict[int, Settings]:
    keys: dict[int, list[Any]] = {organisation: [] for organisation in organisations}
    entries = SettingEntry.objects.filter(chain__organisation__in=organisations).order_by("pk")
    for organisation, pk in entries.values_list("chain__organisation_id", "pk"):
        keys[organisation].append(pk)
    return {organisation: _settings(organisation, tuple(pks)) for organisation, pks in keys.items()}


@lru_cache(maxsize=32)  # entries are never changed: of the same ones the same is read
def _settings(organisation: int, _entries: tuple[Any, ...]) -> Settings:
    return Settings(organisation)


def airs_of(
    site: Site, building: Building | None, written: Settings, day: date, *, reach: date
) -> Iterator[tuple[float, Place]]:
    """The air of a building, or of a site under an open-sided roof, each since a day, the first for ever.

    It is that of ``day``, as far as ``written``; the places reach ahead of ``reach``.
    """
    subject = f"{OF_SITE}{site.pk}"
    parts = ["climate", *([f"building.{building.pk}"] if building else [])]
    changes = sorted({changed for part in parts for changed in written.changes(subject, part)})
    if not written.line(subject, "name") or (written.is_whole and not changes):
        yield FOR_EVER_BEFORE, place_for(site.climate, building, reach)
        return
    now = version_of(site.climate, building)
    series = now.series if written.is_whole else _series_on(site, building, written, day)
    begun = [changed for changed in changes if changed <= day]
    latest = changes[-1] if changes else None
    for since in (None, *begun):
        if written.is_whole and since == latest:
            version = now
        else:
            version = _version_on(written, site, building, since or date.min, now, series)
        yield (FOR_EVER_BEFORE if since is None else float(since.toordinal())), place_of(version, reach)


def _version_on(
    written: Settings,
    site: Site,
    building: Building | None,
    day: date,
    now: AirVersion,
    series: Series | None,
) -> AirVersion:
    """What the record of the site says of a day; what it does not name is as it stands."""
    subject = f"{OF_SITE}{site.pk}"
    house = written.building_on(site.pk, building.pk, day) if building else None
    house = house or BuildingVersion(now.shelter, now.heated_to_c, now.humidity_ceiling_pct, None)
    outside = written.climate_on(site.pk, day)
    months = house.air or outside
    return AirVersion(
        transposed(months) if months else now.months,
        written.value_on(subject, "climate.name", day) or now.name,
        house.shelter,
        house.heated_to_c,
        house.humidity_ceiling_pct,
        inside=house.air is not None,
        series=series,
    )


def _series_on(site: Site, building: Building | None, written: Settings, day: date) -> Series | None:
    """The hours that had been accepted by a day: of loggers in the building, else of those outside."""
    subject = f"{OF_SITE}{site.pk}"
    if building and (digest := written.value_on(subject, f"building.{building.pk}.air.files", day)):
        return _series(digest, day, building=building.pk)
    if digest := written.value_on(subject, "climate.files", day):
        return _series(digest, day, site=site.pk)
    return None


def _series(digest: str, day: date, **place: int) -> Series | None:
    """The hours of a place with that digest; None where its loggers were withdrawn since."""

    def read() -> MeasuredClimate | None:
        rows = MeasuredClimate.objects.filter(**place)
        return rows.select_related("site", "building__site").first()

    measured = once(("measured", tuple(place.items())), read)
    if measured is None:
        return None
    site = measured.site or (measured.building and measured.building.site)
    return series_of(measured, site, digest=digest, accepted_by=day) if site else None

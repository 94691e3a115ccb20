"""The care log: entries with readings, tags, findings, files."""

from datetime import datetime, time, timedelta
from typing import Any
from uuid import UUID

from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404
from django.utils.http import content_disposition_header
from ninja import Field, Router, Schema

from collection.api.door import ApiRequest, operation
from collection.api.shapes import Id, Known, Limit, NearDay, Offset, Page, Whom, describe_person, page
from collection.care.queries.attachments import bytes_of
from collection.care.queries.care import open_findings, open_tags
from collection.care.rules import LIMITS
from collection.models import CareKind, Entry, Quantity, Reading
from collection.models.care import effective
from collection.permissions import READ_LOG

router = Router(tags=["Care log"])
RELATED = ("by", "vehicle", "corrects", "corrected_by")
TOGETHER = ("readings", "attachments")


class ReadingTold(Schema):
    """One measured value."""

    quantity: Quantity
    value: float
    unit: str = Field(examples=["V"])
    position: Known = Field(description="Which cell, which tyre.")
    temperature_c: float | None
    rest_hours: float | None

    @staticmethod
    def resolve_unit(obj: Any) -> str:
        """The unit of the quantity; empty for a plain number."""
        return LIMITS[obj.quantity].unit


class FileTold(Schema):
    """A photograph or document; its bytes are at ``files/{id}`` of the entry."""

    id: UUID
    name: str
    type: str = Field(examples=["image/jpeg"])
    size_bytes: int = Field(validation_alias="size")
    sha256: str = Field(validation_alias="digest")


class EntryTold(Schema):
    """One thing that happened to one car; corrected entries stay readable."""

    id: UUID
    car_id: int = Field(validation_alias="vehicle_id")
    kind: CareKind
    done_at: datetime
    recorded_at: datetime
    by: Whom
    details: dict[str, Any] = Field(
        description="What the kind needs, in SI units.", examples=[{"minutes": 25}]
    )
    readings: list[ReadingTold]
    note: str
    files: list[FileTold] = Field(validation_alias="attachments")
    corrects_id: UUID | None = Field(description="The entry whose place it takes.")
    corrected_by_id: UUID | None = Field(description="The entry that took its place, or withdrew it.")

    @staticmethod
    def resolve_by(obj: Any, context: Any) -> dict[str, Any]:
        """The name only with its scope."""
        return describe_person(obj.by, context)

    @staticmethod
    def resolve_corrected_by_id(obj: Any) -> UUID | None:
        """None as long as it stands."""
        newer = getattr(obj, "corrected_by", None)
        return newer.pk if newer else None


class Entries(Page):
    """Entries, latest first."""

    items: list[EntryTold]


class ReadingOfCar(ReadingTold):
    """One measured value with its entry."""

    car_id: int = Field(validation_alias="entry.vehicle_id")
    entry_id: UUID
    done_at: datetime = Field(validation_alias="entry.done_at")


class Readings(Page):
    """Readings that stand, latest first."""

    items: list[ReadingOfCar]


@operation(router, "GET", "/entries", scope=READ_LOG, response=Entries, summary="Entries")
def list_entries(  # noqa: PLR0913 - one parameter a filter
    request: ApiRequest,
    car_id: Id | None = None,
    kind: CareKind | None = None,
    from_day: NearDay | None = None,
    to_day: NearDay | None = None,
    standing: bool = False,
    limit: Limit = 100,
    offset: Offset = 0,
) -> Any:
    """The log of every car in reach; ``standing`` leaves out what was corrected or withdrawn."""
    rows = request.access.entries()
    rows = effective(rows) if standing else rows
    if car_id:
        rows = rows.filter(vehicle=car_id)
    if kind:
        rows = rows.filter(kind=kind)
    rows = _between(rows, from_day, to_day, request)
    rows = rows.select_related(*RELATED).prefetch_related(*TOGETHER)
    return page(rows.order_by("-done_at", "-recorded_at", "pk"), limit, offset)


def _between(rows: Any, first: Any, last: Any, request: ApiRequest, name: str = "done_at") -> Any:
    """Rows of days at the organisation, both included."""
    zone = request.access.time_zone
    if first:
        rows = rows.filter(**{f"{name}__gte": datetime.combine(first, time(), zone)})
    if last:
        rows = rows.filter(**{f"{name}__lt": datetime.combine(last + timedelta(days=1), time(), zone)})
    return rows


@operation(router, "GET", "/readings", scope=READ_LOG, response=Readings, summary="Readings")
def list_readings(
    request: ApiRequest,
    car_id: Id | None = None,
    quantity: Quantity | None = None,
    from_day: NearDay | None = None,
    to_day: NearDay | None = None,
    limit: Limit = 100,
    offset: Offset = 0,
) -> Any:
    """What was measured and stands, of every car in reach."""
    rows = Reading.objects.filter(entry__in=effective(request.access.entries()).order_by())
    if car_id:
        rows = rows.filter(entry__vehicle=car_id)
    if quantity:
        rows = rows.filter(quantity=quantity)
    rows = _between(rows, from_day, to_day, request, "entry__done_at").select_related("entry")
    return page(rows.order_by("-entry__done_at", "-pk"), limit, offset)


@operation(
    router, "GET", "/cars/{car_id}/tags", scope=READ_LOG, response=list[EntryTold], summary="Open tags"
)
def list_tags(request: ApiRequest, car_id: Id) -> Any:
    """Tags that hang on the car now, oldest first."""
    return list(_together(open_tags([request.access.vehicle(car_id)])))


@operation(
    router,
    "GET",
    "/cars/{car_id}/findings",
    scope=READ_LOG,
    response=list[EntryTold],
    summary="Open findings",
)
def list_findings(request: ApiRequest, car_id: Id) -> Any:
    """What was found and is still open, oldest first."""
    return list(_together(open_findings([request.access.vehicle(car_id)])))


def _together(rows: Any) -> Any:
    return rows.select_related(*RELATED).prefetch_related(*TOGETHER)


def entry_of(request: ApiRequest, car_id: int, entry_id: UUID) -> Entry:
    """One entry of one car in reach, or 404."""
    rows = _together(request.access.entries().filter(vehicle=car_id))
    entry: Entry = get_object_or_404(rows, pk=entry_id)
    return entry


@operation(
    router,
    "GET",
    "/cars/{car_id}/entries/{entry_id}",
    scope=READ_LOG,
    response=EntryTold,
    summary="One entry",
)
def read_entry(request: ApiRequest, car_id: Id, entry_id: UUID) -> Any:
    """With what it corrects and what corrected it."""
    return entry_of(request, car_id, entry_id)


FILES = ("image/jpeg", "image/png", "image/webp", "application/pdf")
BYTES = {
    "responses": {
        200: {
            "description": "The bytes as they came, checked against their digest.",
            "content": {kind: {"schema": {"type": "string", "format": "binary"}} for kind in FILES},
        }
    }
}


@operation(
    router,
    "GET",
    "/cars/{car_id}/entries/{entry_id}/files/{file_id}",
    scope=READ_LOG,
    response=None,
    summary="A photograph or document",
    media=FILES,
    extra=BYTES,
)
def read_file(request: ApiRequest, car_id: Id, entry_id: UUID, file_id: UUID) -> HttpResponse:
    """The bytes, to be saved."""
    files = request.access.attachments().filter(entry__vehicle=car_id, entry=entry_id)
    attachment = get_object_or_404(files, pk=file_id)
    data = bytes_of(attachment)
    if data is None:
        raise Http404
    named = content_disposition_header(as_attachment=True, filename=attachment.name)
    headers = {"Content-Disposition": str(named), "Content-Security-Policy": "sandbox; default-src 'none'"}
    return HttpResponse(data, content_type=attachment.type, headers=headers)

"""A photograph or document of the care log, handed out so that a browser runs nothing in it."""

from uuid import UUID

from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404
from django.views.decorators.http import require_safe

from collection.care.attachments import JPEG
from collection.care.pictures import small
from collection.care.queries.attachments import bytes_of
from collection.models import Attachment
from collection.permissions import SEE_CARS, AccessRequest, needs
from collection.web.stored_files import stored_file

GONE = "The file is no longer the one that came with the entry: look for it in a backup."
NO_PICTURE = "This is a document, not a photograph."


@require_safe
@needs(SEE_CARS)
def attachment(request: AccessRequest, pk: int, entry: UUID, file: UUID) -> HttpResponse:
    """The bytes as they came, checked against their digest; to be saved, not shown."""
    row, data = _kept(request, pk, entry, file)
    return stored_file(data, type_=row.type, name=row.name)


@require_safe
@needs(SEE_CARS)
def thumbnail(request: AccessRequest, pk: int, entry: UUID, file: UUID) -> HttpResponse:
    """The photograph as small as a page shows it: a tenth of its bytes."""
    row, data = _kept(request, pk, entry, file)
    if row.type != JPEG:
        raise Http404(NO_PICTURE)
    return stored_file(small(data), type_=JPEG, name=row.name)


def _kept(request: AccessRequest, pk: int, entry: UUID, file: UUID) -> tuple[Attachment, bytes]:
    row = get_object_or_404(request.access.attachments().filter(entry__vehicle=pk, entry=entry), pk=file)
    data = bytes_of(row)
    if data is None:
        raise Http404(GONE)
    return row, data

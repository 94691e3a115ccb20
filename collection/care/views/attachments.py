"""A photograph or document of the care log, handed out so that a browser runs nothing in it."""

from uuid import UUID

from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404
from django.views.decorators.http import require_safe

from collection.care.queries.attachments import bytes_of
from collection.permissions import SEE_CARS, AccessRequest, needs
from collection.web.stored_files import stored_file

GONE = "The file is no longer the one that came with the entry: look for it in a backup."


@require_safe
@needs(SEE_CARS)
def attachment(request: AccessRequest, pk: int, entry: UUID, file: UUID) -> HttpResponse:
    """The bytes as they came, checked against their digest; to be saved, not shown."""
    files = request.access.attachments().filter(entry__vehicle=pk, entry=entry)
    found = get_object_or_404(files, pk=file)
    data = bytes_of(found)
    if data is None:
        raise Http404(GONE)
    return stored_file(data, type_=found.type, name=found.name)

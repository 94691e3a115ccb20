"""The table of an address, if this person may see it."""

import uuid

from django.shortcuts import get_object_or_404

from collection.models import SheetImport
from collection.permissions import AccessRequest


def row_of(request: AccessRequest, pk: uuid.UUID, *, with_data: bool = False) -> SheetImport:
    """The table; with what was read of its file only where that is needed."""
    rows = request.access.sheets().select_related("by", "organisation")
    return get_object_or_404(rows.defer(None) if with_data else rows, pk=pk)

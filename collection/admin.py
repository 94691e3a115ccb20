"""The admin pages: for operators, and of the installation only; no record of an organisation is in them."""

from typing import Any

from django.contrib.admin import AdminSite, ModelAdmin, TabularInline
from django.db.models import QuerySet
from django.http import HttpRequest, HttpResponse
from django.utils import timezone

from collection.care.actions.record import Edit
from collection.care.actions.settings import settings_recorded
from collection.models import Climate, ClimateMonth, Organisation, Site


class OperatorsSite(AdminSite):
    """Closed to everybody else. Only what is registered here has an address, whatever other apps bring."""

    site_header = site_title = "Longstand"
    index_title = "The installation"

    def has_permission(self, request: HttpRequest) -> bool:
        """Whether the person runs the installation."""
        return request.user.is_authenticated and request.user.is_operator


class OrganisationAdmin(ModelAdmin):  # type: ignore[type-arg]  # cannot be subscripted at run time
    """Names of organisations. New ones are made with the invitation of their first manager."""

    fields = ("name",)

    def has_add_permission(self, request: HttpRequest) -> bool:  # noqa: ARG002 - Django's own signature
        """Never: under Organisations."""
        return False

    def has_delete_permission(self, request: HttpRequest, obj: Any = None) -> bool:  # noqa: ARG002 - as above
        """Never: its record hangs on it."""
        return False


class Months(TabularInline):  # type: ignore[type-arg]  # as above
    """The twelve months of a climate."""

    model = ClimateMonth
    extra = 0


class ClimateAdmin(ModelAdmin):  # type: ignore[type-arg]  # as above
    """Types of climate that are for everyone; an organisation's own are its own business."""

    fields = ("name", "basis")
    inlines = (Months,)

    def get_queryset(self, request: HttpRequest) -> "QuerySet[Climate]":
        """Without those of organisations."""
        return super().get_queryset(request).filter(organisation__isnull=True)

    def changeform_view(
        self,
        request: HttpRequest,
        object_id: str | None = None,
        form_url: str = "",
        extra_context: dict[str, Any] | None = None,
    ) -> HttpResponse:
        """What is saved is written down at every site where the climate is in force."""
        there = Site.objects.filter(climate__pk=object_id) if request.method == "POST" and object_id else ()
        with settings_recorded(list(there), Edit(None, timezone.now())):
            return super().changeform_view(request, object_id, form_url, extra_context)


site = OperatorsSite(name="admin")
site.register(Organisation, OrganisationAdmin)
site.register(Climate, ClimateAdmin)

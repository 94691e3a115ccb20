"""The admin pages: for operators, and of the installation only; no record of an organisation is in them."""

from typing import Any

from django.contrib.admin import AdminSite, ModelAdmin
from django.db.models import QuerySet
from django.http import HttpRequest

from collection.models import Climate, ClimateMonth, Organisation


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


class ClimateAdmin(ModelAdmin):  # type: ignore[type-arg]  # as above
    """Types of climate that are for everyone; an organisation's own are its own business."""

    fields = ("name", "basis")

    def get_queryset(self, request: HttpRequest) -> "QuerySet[Climate]":
        """Without those of organisations."""
        return Climate.objects.filter(organisation__isnull=True)


class ClimateMonthAdmin(ModelAdmin):  # type: ignore[type-arg]  # as above
    """Their months; nobody else's climate is offered."""

    list_filter = ("climate",)

    def get_queryset(self, request: HttpRequest) -> "QuerySet[ClimateMonth]":
        """As above."""
        return ClimateMonth.objects.filter(climate__organisation__isnull=True)

    def formfield_for_foreignkey(self, db_field: Any, request: HttpRequest, **kwargs: Any) -> Any:
        """As above."""
        kwargs["queryset"] = Climate.objects.filter(organisation__isnull=True)
        return super().formfield_for_foreignkey(db_field, request, **kwargs)


site = OperatorsSite(name="admin")
site.register(Organisation, OrganisationAdmin)
site.register(Climate, ClimateAdmin)
site.register(ClimateMonth, ClimateMonthAdmin)

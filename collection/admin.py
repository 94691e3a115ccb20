"""The admin pages: for those who run the installation only. The care log can be read here, not changed."""

from typing import Any

from django.contrib import admin
from django.contrib.auth.admin import UserAdmin
from django.contrib.auth.forms import AdminUserCreationForm
from django.http import HttpRequest

from collection import models


class SuperusersOnly(admin.ModelAdmin):  # type: ignore[type-arg]  # cannot be subscripted at run time
    """Nobody else has any business here, whatever rights they were given."""

    def has_module_permission(self, request: HttpRequest) -> bool:
        """Whether the person runs the installation."""
        return bool(request.user.is_active and request.user.is_superuser)

    def has_view_permission(self, request: HttpRequest, obj: Any = None) -> bool:  # noqa: ARG002 - Django's
        """As above."""
        return self.has_module_permission(request)

    def has_change_permission(self, request: HttpRequest, obj: Any = None) -> bool:  # noqa: ARG002 - Django's
        """As above."""
        return self.has_module_permission(request)

    def has_delete_permission(self, request: HttpRequest, obj: Any = None) -> bool:  # noqa: ARG002 - Django's
        """As above."""
        return self.has_module_permission(request)

    def has_add_permission(self, request: HttpRequest) -> bool:
        """As above."""
        return self.has_module_permission(request)


class ReadOnly(SuperusersOnly):
    """Rows that only the care log's own pages may write."""

    def has_add_permission(self, request: HttpRequest) -> bool:  # noqa: ARG002 - Django's own signature
        """Never."""
        return False

    def has_change_permission(self, request: HttpRequest, obj: Any = None) -> bool:  # noqa: ARG002 - Django's
        """Never."""
        return False

    def has_delete_permission(self, request: HttpRequest, obj: Any = None) -> bool:  # noqa: ARG002 - Django's
        """Never."""
        return False


class NewPersonForm(AdminUserCreationForm):  # type: ignore[type-arg]  # as above
    """A person with a first password."""

    class Meta:
        model = models.Person
        fields = ("email", "name")


@admin.register(models.Person)
class PersonAdmin(SuperusersOnly, UserAdmin):  # type: ignore[type-arg]  # cannot be subscripted at run time
    """People; the password is set through its own form."""

    add_form = NewPersonForm
    ordering = ("email",)
    list_display = ("email", "name", "is_active", "is_superuser")
    list_filter = ("is_active", "is_superuser")
    search_fields = ("email", "name")
    filter_horizontal = ()
    fieldsets = (
        (None, {"fields": ("email", "password", "name", "units")}),
        ("Rights", {"fields": ("is_active", "is_staff", "is_superuser")}),
    )
    add_fieldsets: Any = ((None, {"fields": ("email", "name", "usable_password", "password1", "password2")}),)


@admin.register(models.Entry)
class EntryAdmin(ReadOnly):
    """The care log."""

    list_display = ("done_at", "kind", "vehicle", "by", "recorded_at")
    list_filter = ("kind",)
    list_select_related = ("vehicle", "by")


@admin.register(models.Reading)
class ReadingAdmin(ReadOnly):
    """What was measured."""

    list_display = ("entry", "quantity", "value", "position")
    list_filter = ("quantity",)
    list_select_related = ("entry__vehicle",)


admin.site.register(
    [
        models.Organisation,
        models.Membership,
        models.Owner,
        models.Threshold,
        models.Climate,
        models.ClimateMonth,
        models.Site,
        models.Building,
        models.Bay,
        models.Vehicle,
        models.Battery,
        models.Fuel,
        models.Fluid,
        models.Tyre,
        models.LastUse,
        models.DutyRow,
        models.CarSummary,
        models.ForecastRun,
        models.Clash,
        models.CalendarFeed,
        models.WeeklyMail,
        models.SiteNotes,
        models.CarNotes,
    ],
    SuperusersOnly,
)

"""Whoever speaks, members, owners."""

from datetime import datetime
from typing import Any

from ninja import Field, Router, Schema

from collection.api.door import ApiRequest, operation
from collection.api.shapes import Known, Limit, Offset, Page, page
from collection.models import Role
from collection.people.queries.people import members, owners_with_cars
from collection.permissions import MANAGE, READ_PEOPLE

router = Router(tags=["People"])


class Me(Schema):
    """What this token may do."""

    organisation: str = Field(examples=["Kaldmere Storage"])
    person_id: int
    role: Role
    scopes: list[str] = Field(examples=[["read:cars", "read:log"]])
    token: str = Field(description="What its maker called it.")
    expires_at: datetime | None


class Member(Schema):
    """Somebody with a sign-in here."""

    id: int
    person_id: int
    name: str
    email: str = Field(validation_alias="person.email")
    role: Role
    site_ids: list[int] = Field(description="Where staff may ask for keys and alarms.")

    @staticmethod
    def resolve_name(obj: Any) -> str:
        """As pages show it."""
        return str(obj.person)

    @staticmethod
    def resolve_site_ids(obj: Any) -> list[int]:
        """Their numbers."""
        return [site.pk for site in obj.sites.all()]


class Members(Page):
    """Members by name."""

    items: list[Member]


class Owner(Schema):
    """Whose cars are stored here."""

    id: int
    name: str
    cars: int = Field(description="How many stand here now.")
    contact: Known = Field(description="For managers; else null.")
    address: Known = Field(description="For managers; else null.")

    @staticmethod
    def resolve_contact(obj: Any, context: Any) -> str:
        """The people page, which shows it, is for managers."""
        return str(obj.contact) if context["request"].access.may_manage else ""

    @staticmethod
    def resolve_address(obj: Any, context: Any) -> str:
        """Likewise."""
        return str(obj.address) if context["request"].access.may_manage else ""


class Owners(Page):
    """Owners by name."""

    items: list[Owner]


@operation(router, "GET", "/me", scope=None, response=Me, summary="This token")
def read_me(request: ApiRequest) -> Any:
    """For describe_person it speaks, in which role, with which scopes, until when."""
    access, token = request.access, request.token
    return {
        "organisation": access.organisation.name,
        "person_id": access.person.pk,
        "role": access.role,
        "scopes": token.scopes,
        "token": token.name,
        "expires_at": token.expires_at,
    }


@operation(
    router, "GET", "/members", scope=READ_PEOPLE, capability=MANAGE, response=Members, summary="Members"
)
def list_members(request: ApiRequest, limit: Limit = 100, offset: Offset = 0) -> Any:
    """Everybody with a sign-in and their role; for managers."""
    return page(members(request.access).prefetch_related("sites"), limit, offset)


@operation(router, "GET", "/owners", scope=READ_PEOPLE, response=Owners, summary="Owners")
def list_owners(request: ApiRequest, limit: Limit = 100, offset: Offset = 0) -> Any:
    """Owners with the number of their cars; an owner reads only themselves."""
    return page(owners_with_cars(request.access).order_by("name", "pk"), limit, offset)

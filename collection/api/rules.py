"""The organisation's own rules: intervals and limits, prices, statements; when its dates were recomputed."""

from datetime import datetime
from typing import Any

from django.http import HttpResponse
from django.shortcuts import get_object_or_404
from ninja import Field, Router, Schema

from collection.api.door import ApiRequest, operation
from collection.api.shapes import Id, Limit, Offset, Page, page
from collection.chain.canonical import canonical
from collection.due.core.prices import terms
from collection.due.queries.prices import own_rates
from collection.life.core import choices
from collection.permissions import READ_RULES
from collection.proof.queries import statement_file

router = Router(tags=["Rules and runs"])


class Term(Schema):
    """One value with its default, its limits and why."""

    name: str = Field(examples=["recharge_soc"])
    label: str
    unit: str = Field(examples=["1"])
    value: float = Field(description="What counts now.")
    default: float
    low: float
    high: float
    reason: str = Field(description="Why the default is what it is.")
    own_reason: str | None = Field(description="Why you chose otherwise, where you gave a reason.")


class Rates(Schema):
    """What things cost you."""

    money: str = Field(examples=["£"])
    terms: list[Term]


class CarFault(Schema):
    """A car that could not be worked out."""

    car_id: int
    car: str
    error: str


class Run(Schema):
    """One recompute of the fleet."""

    id: int
    started_at: datetime
    took_s: float | None = Field(validation_alias="seconds")
    cars: int
    trigger: str
    faults: list[CarFault]

    @staticmethod
    def resolve_faults(obj: Any) -> list[dict[str, Any]]:
        """As the run stored them."""
        return [{"car_id": int(one["pk"]), "car": one["car"], "error": one["error"]} for one in obj.errors]


class Runs(Page):
    """Runs, latest first."""

    items: list[Run]


class Statement(Schema):
    """A signed statement over the chains."""

    id: int
    number: int
    at: datetime
    signature: str


class Statements(Page):
    """Statements, latest first."""

    items: list[Statement]


def _terms(known: Any, own: dict[str, tuple[float, str]]) -> list[dict[str, Any]]:
    names = ("name", "label", "unit", "default", "low", "high", "reason")
    return [
        {name: getattr(term, name) for name in names}
        | {"value": own.get(term.name, (term.default, ""))[0]}
        | {"own_reason": own.get(term.name, (0.0, ""))[1] or None}
        for term in known
    ]


@operation(
    router, "GET", "/thresholds", scope=READ_RULES, response=list[Term], summary="Intervals and limits"
)
def list_thresholds(request: ApiRequest) -> Any:
    """The values that duties compare their curves with."""
    own = {row.name: (row.value, row.reason) for row in request.access.organisation.thresholds.all()}
    return _terms(choices.thresholds(), own)


@operation(router, "GET", "/rates", scope=READ_RULES, response=Rates, summary="Prices")
def read_rates(request: ApiRequest) -> Any:
    """What hours, power and parts cost."""
    organisation = request.access.organisation
    own = {name: (value, "") for name, value in own_rates(organisation).items()}
    return {"money": organisation.money, "terms": _terms(terms(), own)}


@operation(router, "GET", "/runs", scope=READ_RULES, response=Runs, summary="When dates were recomputed")
def list_runs(request: ApiRequest, limit: Limit = 100, offset: Offset = 0) -> Any:
    """When the fleet was recomputed, and what could not be."""
    return page(request.access.runs().order_by("-started_at", "-pk"), limit, offset)


@operation(router, "GET", "/statements", scope=READ_RULES, response=Statements, summary="Signed statements")
def list_statements(request: ApiRequest, limit: Limit = 100, offset: Offset = 0) -> Any:
    """The daily statements over the chains of your cars."""
    return page(request.access.anchors(), limit, offset)


@operation(
    router,
    "GET",
    "/statements/{statement_id}",
    scope=READ_RULES,
    response=dict[str, Any],
    summary="One statement to keep",
)
def read_statement(request: ApiRequest, statement_id: Id) -> HttpResponse:
    """The file that a witness keeps, in its canonical form (RFC 8785)."""
    statement = statement_file(get_object_or_404(request.access.anchors(), pk=statement_id))
    return HttpResponse(canonical(statement), content_type="application/json")

"""Addresses that get a message when a car's dates change."""

from datetime import datetime
from typing import Annotated, Any
from uuid import UUID

from django.http import HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404
from ninja import Field, Router, Schema
from pydantic import StringConstraints

from collection.api.actions.writes import Answer, once
from collection.api.actions.writes import Sent as SentOnce
from collection.api.care_write import Key, respond_once
from collection.api.door import ApiRequest, operation
from collection.api.shapes import Id, Limit, Offset, Page, Sent, as_json, page
from collection.models import Delivery, Webhook
from collection.notices.actions import webhooks as act
from collection.notices.queries.webhooks import deliveries_of
from collection.notices.queries.webhooks import webhooks as listed
from collection.notices.signatures import secret_of
from collection.permissions import WEBHOOKS

router = Router(tags=["Webhooks"])
# 1 to 65535; which of them may be reached is a matter of the network, not of the form
PORT = "(6553[0-5]|655[0-2][0-9]|65[0-4][0-9]{2}|6[0-4][0-9]{3}|[1-5][0-9]{4}|[1-9][0-9]{0,3})"
ADDRESS = rf"^https?://[A-Za-z0-9.-]+(:{PORT})?(/[A-Za-z0-9._~/?=&%-]*)?$"


class WebhookTold(Schema):
    """One address."""

    id: UUID
    name: str
    address: str
    made_at: datetime
    secret_number: int = Field(description="How many secrets it has had.")
    old_secret_until: datetime | None = Field(description="Until then messages carry both signatures.")
    failing_since: datetime | None
    off_at: datetime | None = Field(description="Since when nothing is sent.")
    off_because: str


class WebhookMade(WebhookTold):
    """A new address, or a new secret, which is shown this once."""

    secret: str = Field(description="Put it where messages are verified.", examples=["whsec_…"])


class Webhooks(Page):
    """Addresses by name."""

    items: list[WebhookTold]


class WebhookSent(Sent):
    """An address that is to get messages."""

    name: Annotated[
        str,
        StringConstraints(
            strict=True, min_length=1, max_length=80, pattern=r"^[^\x00-\x1f]*[^\s\x00-\x1f][^\x00-\x1f]*$"
        ),
    ]
    address: Annotated[
        str,
        StringConstraints(
            strict=True,
            max_length=400,
            pattern=ADDRESS,
        ),
    ] = Field(description="By https, on the open internet.", examples=["https://listener.example/longstand"])


class DeliveryTold(Schema):
    """One message on its way to an address."""

    id: int
    message_id: UUID = Field(validation_alias="change_id")
    at: datetime = Field(validation_alias="change.at")
    state: Delivery.State
    tries: int
    next_at: datetime | None = Field(description="When it is tried next; null where it is not.")
    last_at: datetime | None
    last_said: str

    @staticmethod
    def resolve_next_at(obj: Any) -> datetime | None:
        """Only while it waits."""
        return obj.next_at if obj.state == Delivery.State.WAITING else None


class Deliveries(Page):
    """Deliveries, latest change first."""

    items: list[DeliveryTold]


def _serialize_webhook(hook: Webhook) -> dict[str, Any]:
    return as_json(WebhookTold.model_validate(hook))


def _respond_with_secret(status: int, answer: Answer) -> JsonResponse:
    """The answer with its secret, which is never stored."""
    number = int(answer["secret_number"])
    secret = secret_of(Webhook(pk=UUID(answer["id"])), number)
    return JsonResponse({**answer, "secret": secret}, status=status)


def _hook(request: ApiRequest, webhook_id: UUID) -> Webhook:
    hook: Webhook = get_object_or_404(listed(request.access), pk=webhook_id)
    return hook


def _once(request: ApiRequest, key: str, do: Any) -> tuple[int, Answer]:
    return once(SentOnce(request.token, key, request.path, request.body), do, now=request.now)


@operation(router, "GET", "/webhooks", scope=WEBHOOKS, response=Webhooks, summary="Webhooks")
def list_webhooks(request: ApiRequest, limit: Limit = 100, offset: Offset = 0) -> Any:
    """The organisation's addresses."""
    return page(listed(request.access), limit, offset)


@operation(router, "POST", "/webhooks", scope=WEBHOOKS, response={201: WebhookMade}, summary="Make a webhook")
def make_webhook(request: ApiRequest, webhook: WebhookSent, idempotency_key: Key) -> Any:
    """An address that is sent a signed message when a car's dates change; its secret is shown here."""

    def do() -> tuple[int, Answer]:
        made = act.make_webhook(
            organisation=request.access.organisation,
            name=webhook.name,
            address=webhook.address,
            by=request.access.person,
            now=request.now,
        )
        return 201, _serialize_webhook(made)

    return _respond_with_secret(*_once(request, idempotency_key, do))


@operation(
    router, "GET", "/webhooks/{webhook_id}", scope=WEBHOOKS, response=WebhookTold, summary="One webhook"
)
def read_webhook(request: ApiRequest, webhook_id: UUID) -> Any:
    """Whether it is on, and since when it fails."""
    return _hook(request, webhook_id)


@operation(
    router, "DELETE", "/webhooks/{webhook_id}", scope=WEBHOOKS, response={204: None}, summary="End a webhook"
)
def end_webhook(request: ApiRequest, webhook_id: UUID) -> Any:
    """Forget the address and what is on its way to it. It takes no key: ended twice, it is ended."""
    act.end_webhook(webhook=_hook(request, webhook_id))
    return HttpResponse(status=204)


@operation(
    router,
    "POST",
    "/webhooks/{webhook_id}/secret",
    scope=WEBHOOKS,
    response={201: WebhookMade},
    summary="Renew a webhook's secret",
)
def renew_webhook_secret(request: ApiRequest, webhook_id: UUID, idempotency_key: Key) -> Any:
    """For a day messages are signed with the old secret too."""
    hook = _hook(request, webhook_id)
    answer = _once(
        request,
        idempotency_key,
        lambda: (201, _serialize_webhook(act.renew_secret(webhook=hook, now=request.now))),
    )
    return _respond_with_secret(*answer)


@operation(
    router,
    "GET",
    "/webhooks/{webhook_id}/deliveries",
    scope=WEBHOOKS,
    response=Deliveries,
    summary="Deliveries",
)
def list_deliveries(request: ApiRequest, webhook_id: UUID, limit: Limit = 100, offset: Offset = 0) -> Any:
    """Messages of the last 30 days, whether they arrived, and what was answered."""
    return page(deliveries_of(_hook(request, webhook_id)), limit, offset)


@operation(
    router,
    "POST",
    "/webhooks/{webhook_id}/deliveries/{delivery_id}/again",
    scope=WEBHOOKS,
    response={201: DeliveryTold},
    summary="Send a message again",
)
def send_delivery_again(request: ApiRequest, webhook_id: UUID, delivery_id: Id, idempotency_key: Key) -> Any:
    """Under its old id, within a minute."""
    row = get_object_or_404(deliveries_of(_hook(request, webhook_id)), pk=delivery_id)

    def do() -> tuple[int, Answer]:
        act.send_again(delivery=row, now=request.now)
        row.refresh_from_db()
        return 201, as_json(DeliveryTold.model_validate(row))

    return respond_once(request, idempotency_key, do)

"""Addresses that are told of changed dates, and what is on its way to them."""

from uuid import UUID

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone

from collection.life.queries import worker_is_alive
from collection.models import Webhook
from collection.notices.actions import webhooks as act
from collection.notices.forms.webhooks import WebhookForm
from collection.notices.queries import webhooks as query
from collection.notices.signatures import secret_of
from collection.permissions import MANAGE, AccessRequest, needs
from collection.web.form_faults import saved

DELIVERIES_A_PAGE = 50
MOST_DIGITS = 18  # longer than any row number
FRESH = "webhook secret"  # session key; a secret is told once after it was made


@needs(MANAGE)
def webhooks(request: AccessRequest) -> HttpResponse:
    """Every address, and a form for a new one."""
    form = WebhookForm(request.POST if request.method == "POST" else None)

    def make() -> None:
        access, values = request.access, form.cleaned_data
        hook = act.make_webhook(
            organisation=access.organisation,
            name=values["name"],
            address=values["address"],
            by=access.person,
            now=timezone.now(),
        )
        request.session[FRESH] = str(hook.pk)

    if request.method == "POST" and saved([form], make):
        return redirect("webhook", request.session[FRESH])
    rows = query.webhooks(request.access)
    return render(request, "notices/webhooks.html", {"form": form, "hooks": rows})


@needs(MANAGE)
def webhook(request: AccessRequest, pk: UUID) -> HttpResponse:
    """One address: its secret once, its deliveries, and what may be done with it."""
    hook = get_object_or_404(query.webhooks(request.access), pk=pk)
    if request.method == "POST":
        return _done(request, hook)
    fresh = request.session.pop(FRESH, "") == str(hook.pk)
    pages = Paginator(query.deliveries_of(hook), DELIVERIES_A_PAGE)
    now = timezone.now()
    shown = {
        "hook": hook,
        "secret": secret_of(hook) if fresh else "",
        "now": now,
        "alive": worker_is_alive(now),
        "deliveries": pages.get_page(request.GET.get("page")),
    }
    answer = render(request, "notices/webhook.html", shown)
    answer.headers["Cache-Control"] = "private, no-store"  # a secret may stand on it
    return answer


def _done(request: AccessRequest, hook: Webhook) -> HttpResponse:
    """One of the buttons."""
    now, what, key = timezone.now(), request.POST.get("what", ""), request.POST.get("again", "")
    if what == "end":
        act.end_webhook(webhook=hook)
        messages.success(request, f"{hook}: ended. Nothing more is sent there.")
        return redirect("webhooks")
    if what == "secret":
        act.renew_secret(webhook=hook, now=now)
        request.session[FRESH] = str(hook.pk)
    elif what == "off":
        act.switch_off(webhook=hook, because="switched off by hand", now=now)
        messages.success(request, "Switched off. What changes from now on is not kept for it.")
    elif what == "on":
        act.switch_on(webhook=hook, now=now)
        messages.success(request, "Switched on. What waited is sent within a minute.")
    elif what == "test":
        act.send_test(webhook=hook, now=now)
        messages.success(request, "A test is on its way: it is sent within a minute.")
    elif key.isdecimal() and len(key) <= MOST_DIGITS:
        act.send_again(delivery=get_object_or_404(hook.deliveries, pk=key), now=now)
        messages.success(request, "On its way once more: it is sent within a minute.")
    else:
        messages.error(request, "Nothing was asked for: press one of the buttons.")
    return redirect("webhook", hook.pk)

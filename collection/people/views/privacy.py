"""What is kept about a person: to take away, and to forget."""

import json
from typing import Any

from django.contrib import messages
from django.core.exceptions import PermissionDenied, ValidationError
from django.core.serializers.json import DjangoJSONEncoder
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_safe

from collection.people.actions.forgetting import forget_member, forget_owner
from collection.people.actions.people import refuse_if_shared
from collection.people.forms.people import ForgetForm
from collection.people.queries import people as query
from collection.people.queries.personal import about_owner, about_person
from collection.permissions import MANAGE, SEE_CARS, AccessRequest, needs
from collection.web.form_faults import saved


@require_safe
@needs(SEE_CARS)
def my_data(request: AccessRequest) -> HttpResponse:
    """Everything about oneself as a file."""
    return _file(about_person(request.access.person))


@require_safe
@needs(MANAGE)
def member_data(request: AccessRequest, pk: int) -> HttpResponse:
    """Everything about a member who asks for it; of somebody who is a member elsewhere too, only they."""
    membership = get_object_or_404(query.members(request.access), pk=pk)
    try:
        refuse_if_shared(membership, "person")
    except ValidationError as fault:
        raise PermissionDenied(" ".join(fault.messages)) from None
    return _file(about_person(membership.person))


@require_safe
@needs(MANAGE)
def owner_data(request: AccessRequest, pk: int) -> HttpResponse:
    """Everything about an owner who asks for it."""
    return _file(about_owner(get_object_or_404(request.access.owners(), pk=pk)))


def _file(facts: dict[str, Any]) -> HttpResponse:
    text = json.dumps(facts, cls=DjangoJSONEncoder, indent=2, ensure_ascii=False)
    response = HttpResponse(text, content_type="application/json")
    response["Content-Disposition"] = 'attachment; filename="personal-data.json"'
    response["Cache-Control"] = "no-store"
    return response


@needs(MANAGE)
def member_forget(request: AccessRequest, pk: int) -> HttpResponse:
    """Forget a member: what they did stays, who they were goes."""
    membership = get_object_or_404(query.members(request.access), pk=pk)
    today = timezone.localdate()
    form = ForgetForm(request.POST or None, words=membership.person.email)
    if request.method == "POST" and saved([form], lambda: forget_member(membership=membership, today=today)):
        messages.success(request, f"{form.expected} is forgotten.")
        return redirect("people")
    shown = {"form": form, "who": membership.person, "member": membership}
    return render(request, "people/forget.html", shown)


@needs(MANAGE)
def owner_forget(request: AccessRequest, pk: int) -> HttpResponse:
    """Forget an owner: the cars stay, name and address go."""
    owner = get_object_or_404(request.access.owners(), pk=pk)
    form = ForgetForm(request.POST or None, words=owner.name)
    if request.method == "POST" and saved([form], lambda: forget_owner(owner=owner)):
        messages.success(request, f"{form.expected} is forgotten.")
        return redirect("people")
    return render(request, "people/forget.html", {"form": form, "who": owner, "owner": owner})

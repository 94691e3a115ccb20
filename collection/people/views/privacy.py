"""What is kept about a person: to take away, and to forget."""

import json
from typing import Any

from django.contrib import messages
from django.core.serializers.json import DjangoJSONEncoder
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_safe

from collection.people.actions.forgetting import forget_owner
from collection.people.actions.operators import forget
from collection.people.forms.people import ForgetForm
from collection.people.queries import people as query
from collection.people.queries.personal import about_owner, about_person
from collection.people.views.signing_in import confirmed
from collection.permissions import MANAGE, AccessRequest, needs, operates, signed_in
from collection.web.form_faults import saved


@require_safe
@signed_in
def my_data(request: Any) -> HttpResponse:
    """Everything about oneself as a file."""
    return _file(about_person(request.user))


@require_safe
@needs(MANAGE)
def member_data(request: AccessRequest, pk: int) -> HttpResponse:
    """Everything that this organisation keeps about a member who asks for it."""
    membership = get_object_or_404(query.members(request.access), pk=pk)
    return _file(about_person(membership.person, request.access.organisation))


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


@operates
@confirmed
def person_forget(request: HttpRequest, pk: int) -> HttpResponse:
    """Forget somebody everywhere: what they did stays, who they were goes."""
    person = get_object_or_404(query.sign_ins_listed(), pk=pk)
    form = ForgetForm(request.POST or None, words=person.email)
    if request.method == "POST" and saved([form], lambda: forget(person=person, now=timezone.now())):
        messages.success(request, f"{form.expected} is forgotten.")
        return redirect("sign_ins")
    return render(request, "people/forget.html", {"form": form, "who": person, "person": person})


@needs(MANAGE)
def owner_forget(request: AccessRequest, pk: int) -> HttpResponse:
    """Forget an owner: the cars stay, name and address go."""
    owner = get_object_or_404(request.access.owners(), pk=pk)
    form = ForgetForm(request.POST or None, words=owner.name)
    if request.method == "POST" and saved([form], lambda: forget_owner(owner=owner)):
        messages.success(request, f"{form.expected} is forgotten.")
        return redirect("people")
    return render(request, "people/forget.html", {"form": form, "who": owner, "owner": owner})

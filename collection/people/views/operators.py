"""For whoever runs the installation: its operators, organisations and sign-ins; no record of theirs."""

from typing import Any

from allauth.account.adapter import get_adapter
from allauth.account.internal.flows.password_reset import request_password_reset
from allauth.account.utils import user_pk_to_url_str
from django.conf import settings
from django.contrib import messages
from django.contrib.auth.tokens import default_token_generator
from django.core.exceptions import ValidationError
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone

from collection.models import Organisation, Person, Role
from collection.people.actions import operators as act
from collection.people.forms.people import AddressForm, OrganisationNameForm, SignInOpenForm
from collection.people.queries import people as query
from collection.people.views.invitations import ask
from collection.people.views.signing_in import confirmed
from collection.permissions import operates
from collection.web.form_faults import saved
from collection.web.sorting import Column, Sorting

PEOPLE_A_PAGE = 100
GRANT_COLUMNS = (
    Column("who", "Who", ("person__name",)),
    Column("since", "Since", ("given_at",)),
    Column("by", "Named by", ("given_by__name",)),
    Column("ended", "Ended", ("ended_at",)),
)
SIGN_IN_COLUMNS = (
    Column("email", "E-mail address", ("email",)),
    Column("name", "Name", ("name",)),
    Column("open", "Sign-in", ("is_active",)),
)


@operates
@confirmed
def operators(request: Any) -> HttpResponse:
    """Who runs the installation; another is named, one's own grant handed over, any but the last ended."""
    what, now = request.POST.get("what"), timezone.now()
    forms = {name: AddressForm(_sent(request, name), prefix=name) for name in ("name", "hand")}

    def named() -> None:
        act.name_operator(email=forms["name"].cleaned_data["email"], by=request.user, now=now)

    def handed() -> None:
        act.hand_over(email=forms["hand"].cleaned_data["email"], by=request.user, now=now)

    if what == "name" and saved([forms["name"]], named):
        return _done(request, "They run the installation from now on, too.", "operators")
    if what == "hand" and saved([forms["hand"]], handed):
        return _done(request, "The installation is handed over.", "me")
    if what == "end":
        return _end(request)
    listed = Sorting(request.GET, GRANT_COLUMNS)
    shown = {"grants": listed.rows(query.operators()), "heads": listed.heads}
    return render(request, "people/operators.html", shown | forms)


def _end(request: Any) -> HttpResponse:
    grants = query.operators().filter(ended_at__isnull=True)
    grant = get_object_or_404(grants, pk=_number(request.POST.get("grant")))
    try:
        act.end_operator(grant=grant, by=request.user, now=timezone.now())
    except ValidationError as fault:
        messages.error(request, " ".join(fault.messages))
        return redirect("operators")
    is_own = grant.person == request.user
    return _done(request, f"{grant.person} is no longer an operator.", "me" if is_own else "operators")


def _number(text: str | None) -> int:
    return int(text) if text and text.isdecimal() and len(text) <= 10 else 0  # 0: no row


@operates
@confirmed
def organisations(request: Any) -> HttpResponse:
    """All organisations by name; a new one with the invitation of its first manager."""
    what = request.POST.get("what")
    shown: dict[str, str] = {}
    form = OrganisationNameForm(_sent(request, "new"))
    again = AddressForm(_sent(request, "again"), prefix="again")

    def invited(organisation: Organisation, email: str) -> None:
        act.refuse_if_managed(organisation)
        link = ask(request, organisation, request.user, email=email, role=Role.MANAGER, sites=())
        shown.update(link=link, email=email)

    def made() -> None:
        typed = form.cleaned_data
        invited(act.open_organisation(name=typed["name"]), typed["email"])

    def asked() -> None:
        organisation = get_object_or_404(Organisation, pk=_number(request.POST.get("organisation")))
        invited(organisation, again.cleaned_data["email"])

    good = (what == "new" and saved([form], made)) or (what == "again" and saved([again], asked))
    if good and not shown["link"]:
        return _done(request, f"The invitation is on its way to {shown['email']}.", "organisations")
    context = {"organisations": query.organisations_listed(), "form": form, "again": again, **shown}
    answer = render(request, "people/organisations.html", context)
    answer.headers["Cache-Control"] = "private, no-store"  # a link may stand on it
    return answer


@operates
def sign_ins(request: HttpRequest) -> HttpResponse:
    """Everybody with a sign-in, by address."""
    listed = Sorting(request.GET, SIGN_IN_COLUMNS)
    pages = Paginator(listed.rows(query.sign_ins_listed()), PEOPLE_A_PAGE)
    shown = {"people": pages.get_page(request.GET.get("page")), "heads": listed.heads}
    return render(request, "people/sign_ins.html", shown)


@operates
@confirmed
def sign_in_edit(request: Any, pk: int) -> HttpResponse:
    """Close a sign-in or open it again, a way back for who lost password or phone, forget."""
    person = get_object_or_404(query.sign_ins_listed(), pk=pk)
    what = request.POST.get("what")
    shown: dict[str, Any] = {}
    form = SignInOpenForm(_sent(request, "open"), initial={"is_active": person.is_active})

    def changed() -> None:
        act.set_sign_in(person=person, is_open=form.cleaned_data["is_active"])

    if what == "open" and saved([form], changed):
        return _done(request, f"{person}: saved.", "sign_ins")
    if what == "second":
        act.remove_second_factor(person=person)
        get_adapter().send_notification_mail("account/email/second_factor_off", person)
        return _done(request, f"{person}: second factor taken off.", "sign_ins")
    if what == "link":
        if settings.SENDS_MAIL:
            request_password_reset(request, person.email, [person], default_token_generator)
            return _done(request, f"A link for a new password is on its way to {person.email}.", "sign_ins")
        shown["link"] = _reset_link(request, person)
    shown |= {"person": person, "form": form, "second_factor": query.has_second_factor(person)}
    answer = render(request, "people/sign_in.html", shown)
    answer.headers["Cache-Control"] = "private, no-store"  # as above
    return answer


def _reset_link(request: HttpRequest, person: Person) -> str:
    """The same link that would be mailed: it works once, and for three days."""
    key = default_token_generator.make_token(person)
    name = "account_reset_password_from_key"
    return request.build_absolute_uri(reverse(name, args=[user_pk_to_url_str(person), key]))


def _sent(request: HttpRequest, what: str) -> Any:
    """What was sent, to the form it was sent for."""
    return request.POST if request.method == "POST" and request.POST.get("what") == what else None


def _done(request: HttpRequest, words: str, to: str) -> HttpResponse:
    messages.success(request, words)
    return redirect(to)

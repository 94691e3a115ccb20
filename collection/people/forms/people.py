"""Signing in, members, owners and oneself."""

from typing import Any

from django import forms
from django.db.models import QuerySet

from collection.models import Organisation, Owner, Person, Role, Site
from collection.people.forms.signing_in import PASSWORD_RULES, UNLIKE, TokensToo
from collection.web.measures import PlainForm, RecordForm, Several

NEW_PASSWORD = forms.PasswordInput({"autocomplete": "new-password"})


class TwicePassword(PlainForm):
    """A new password typed twice."""

    password = forms.CharField(
        label="Password",
        strip=False,
        widget=NEW_PASSWORD,
        help_text=PASSWORD_RULES,
    )
    again = forms.CharField(label="The same again", strip=False, widget=NEW_PASSWORD)

    def clean(self) -> dict[str, Any]:
        """Both must be the same."""
        typed = super().clean() or self.cleaned_data
        if typed.get("password") != typed.get("again"):
            self.add_error("again", UNLIKE)
        return typed


class SitesField(Several):
    """Whose keys and alarms a member may ask for."""

    widget = forms.CheckboxSelectMultiple

    def __init__(self) -> None:
        super().__init__(
            Site.objects.none(),
            required=False,
            label="Keys and alarms",
            help_text="Staff may ask for those of these sites. Managers may for all, other roles for none.",
        )

    def offer(self, sites: "QuerySet[Site]") -> None:
        """The sites of the organisation."""
        self.queryset = sites


class RoleForm(PlainForm):
    """What a member may do."""

    role = forms.ChoiceField(choices=Role.choices, initial=Role.STAFF)
    sites = SitesField()

    def __init__(self, *args: Any, sites: "QuerySet[Site]", **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["sites"].offer(sites)  # type: ignore[attr-defined]  # a SitesField


class AddressForm(PlainForm):
    """Somebody, by the address that they sign in with."""

    email = forms.EmailField(
        label="E-mail address", widget=forms.EmailInput({"autocomplete": "off", "inputmode": "email"})
    )


class InvitationForm(RoleForm):
    """Whom to invite, as what."""

    email = forms.EmailField(
        label="E-mail address",
        help_text="They sign in with it.",
        widget=forms.EmailInput({"autocomplete": "off", "inputmode": "email"}),
    )
    field_order = ("email", "role", "sites")


class NewSignInForm(TwicePassword):
    """Somebody new, by their own words."""

    name = forms.CharField(
        label="Your name", max_length=120, widget=forms.TextInput({"autocomplete": "name"})
    )
    field_order = ("name", "password", "again")


class OrganisationNameForm(PlainForm):
    """A new organisation and its first manager."""

    name = forms.CharField(label="Name", max_length=120, widget=forms.TextInput({"autocomplete": "off"}))
    email = forms.EmailField(
        label="Its first manager's e-mail address",
        widget=forms.EmailInput({"autocomplete": "off", "inputmode": "email"}),
    )


class SignInOpenForm(PlainForm):
    """Whether a sign-in is open."""

    is_active = forms.BooleanField(
        label="May sign in",
        required=False,
        help_text="Untick to close the sign-in everywhere; what they wrote stays.",
    )


class OwnerForm(RecordForm):
    """Whose cars they are."""

    class Meta(RecordForm.Meta):
        model = Owner
        fields = ("name", "contact", "address", "person")
        widgets = {"address": forms.Textarea({"rows": 3})}  # noqa: RUF012 - Django's way
        help_texts = {"person": "Lets them see their own cars: a member with the role Owner."}  # noqa: RUF012

    def __init__(self, *args: Any, people: "QuerySet[Person]", **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["person"].queryset = people  # type: ignore[attr-defined]  # a ModelChoiceField
        self.fields["person"].empty_label = "Does not sign in"  # type: ignore[attr-defined]


class MeForm(RecordForm):
    """One's own name and units."""

    class Meta(RecordForm.Meta):
        model = Person
        fields = ("name", "units")
        labels = {"units": "Show and ask in"}  # noqa: RUF012


class ForgetForm(PlainForm):
    """What cannot be undone is typed out."""

    words = forms.CharField(label="To be sure, type")

    def __init__(self, *args: Any, words: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.expected = words
        self.fields["words"].label = f"To be sure, type “{words}”"

    def clean_words(self) -> str:
        """Exactly that, but for capitals."""
        if self.cleaned_data["words"].strip().casefold() != self.expected.casefold():
            raise forms.ValidationError(f"Type “{self.expected}”, or leave this page.")
        return self.expected


class OwnPasswordForm(TwicePassword):
    """A new password for oneself, with the old one."""

    old = forms.CharField(
        label="Password now", strip=False, widget=forms.PasswordInput({"autocomplete": "current-password"})
    )
    tokens = TokensToo()
    field_order = ("old", "password", "again", "tokens")

    def __init__(self, *args: Any, person: Person, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.person = person
        self.fields["password"].label = "New password"

    def clean_old(self) -> str:
        """The old password must be right."""
        typed = str(self.cleaned_data["old"])
        if not self.person.check_password(typed):
            raise forms.ValidationError("This is not your password now: type it again.")
        return typed


class OrganisationForm(PlainForm):
    """Where to work, for somebody who belongs to several organisations."""

    organisation = forms.ModelChoiceField(Organisation.objects.none(), empty_label=None)

    def __init__(self, *args: Any, organisations: "QuerySet[Organisation]", **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["organisation"].queryset = organisations  # type: ignore[attr-defined]

"""Signing in, members, owners and oneself."""

from typing import Any

from django import forms
from django.db.models import QuerySet

from collection.forms.signing_in import PASSWORD_RULES, UNLIKE
from collection.forms.measures import PlainForm, RecordForm
from collection.models import Organisation, Owner, Person, Role

NEW_PASSWORD = forms.PasswordInput({"autocomplete": "new-password"})


class TwicePassword(PlainForm):
    """A new password typed twice."""

    password = forms.CharField(
        label="Password", strip=False, widget=NEW_PASSWORD,
        help_text=PASSWORD_RULES,
    )  # fmt: skip
    again = forms.CharField(label="The same again", strip=False, widget=NEW_PASSWORD)

    def clean(self) -> dict[str, Any]:
        """Both must be the same."""
        typed = super().clean() or self.cleaned_data
        if typed.get("password") != typed.get("again"):
            self.add_error("again", UNLIKE)
        return typed


class MemberForm(TwicePassword):
    """Somebody new."""

    name = forms.CharField(max_length=120, widget=forms.TextInput({"autocomplete": "off"}))
    email = forms.EmailField(
        label="E-mail address", help_text="They sign in with it.",
        widget=forms.EmailInput({"autocomplete": "off", "inputmode": "email"}),
    )  # fmt: skip
    role = forms.ChoiceField(choices=Role.choices, initial=Role.STAFF)
    field_order = ("name", "email", "role", "password", "again")


class RoleForm(PlainForm):
    """What a member may do."""

    role = forms.ChoiceField(choices=Role.choices)
    is_active = forms.BooleanField(
        label="May sign in", required=False, help_text="Untick to close the sign-in; what they wrote stays."
    )


class OwnerForm(RecordForm):
    """Whose cars they are."""

    class Meta(RecordForm.Meta):
        model = Owner
        fields = ("name", "contact", "person")
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


class OwnPasswordForm(TwicePassword):
    """A new password for oneself, with the old one."""

    old = forms.CharField(
        label="Password now", strip=False, widget=forms.PasswordInput({"autocomplete": "current-password"})
    )
    field_order = ("old", "password", "again")

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

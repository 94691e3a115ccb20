"""The forms on the way in, in our words: what they check is allauth's."""

from typing import Any

from allauth.account.forms import LoginForm, ReauthenticateForm, ResetPasswordForm, ResetPasswordKeyForm
from allauth.core import context
from allauth.mfa.base.forms import AuthenticateForm
from allauth.mfa.base.forms import ReauthenticateForm as ReauthenticateByCodeForm
from allauth.mfa.totp.forms import ActivateTOTPForm
from allauth.mfa.webauthn.forms import AddWebAuthnForm, EditWebAuthnForm
from django import forms
from django.utils import timezone

from collection.people.actions.people import end_tokens
from collection.people.adapter import forgive

PASSWORD_RULES = "At least 8 characters, not only figures, not one of the common ones."  # noqa: S105 - words
UNLIKE = "The two passwords differ: type the same one twice."


class TokensToo(forms.BooleanField):
    """Whether programmes must be given new tokens; you are signed out elsewhere in any case."""

    def __init__(self) -> None:
        super().__init__(
            label="End my tokens for programmes too",
            required=False,
            initial=True,
            help_text="You are signed out everywhere else in any case.",
        )


def speak(form: forms.Form, **labels: str) -> None:
    """Give fields their labels, without colon and without grey words inside the box."""
    form.label_suffix = ""
    for name, field in form.fields.items():
        field.label = labels.get(name, field.label)
        field.widget.attrs.pop("placeholder", None)


def _address(form: forms.Form, name: str) -> None:
    form.fields[name].widget = forms.EmailInput({"autocomplete": "username webauthn", "inputmode": "email"})
    form.fields[name].error_messages["required"] = "Type your e-mail address."


def _code(form: forms.Form, help_text: str) -> None:
    speak(form, code="Code")
    form.fields["code"].help_text = help_text
    form.fields["code"].widget.attrs["inputmode"] = "numeric"


class SignInForm(LoginForm):  # type: ignore[misc]  # allauth is not typed
    """E-mail address and password; capitals in the address do not matter."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        speak(self, login="E-mail address", password="Password")  # noqa: S106 - a label
        _address(self, "login")
        self.fields["password"].help_text = ""
        self.fields["password"].error_messages["required"] = "Type your password."


class ForgottenForm(ResetPasswordForm):  # type: ignore[misc]  # as above
    """Where to send the link."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        speak(self, email="E-mail address")
        _address(self, "email")


class RenewForm(ResetPasswordKeyForm):  # type: ignore[misc]  # as above
    """A new password, typed twice."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        speak(self, password1="New password", password2="The same again")
        self.fields["password1"].help_text = PASSWORD_RULES
        self.fields["tokens"] = TokensToo()

    def save(self) -> None:
        """Set the password; end tokens if asked; wrong tries before do not count any more."""
        super().save()
        if self.cleaned_data["tokens"]:
            end_tokens(person=self.user, now=timezone.now())
        forgive(context.request, self.user.email)


class AgainForm(ReauthenticateForm):  # type: ignore[misc]  # as above
    """One's password once more before something that matters."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        speak(self, password="Your password")  # noqa: S106 - a label
        self.fields["password"].help_text = ""


class CodeForm(AuthenticateForm):  # type: ignore[misc]  # as above
    """The code of the app, or one of the recovery codes."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        _code(self, "The six figures that the app on your phone shows, or one of your recovery codes.")


class CodeAgainForm(ReauthenticateByCodeForm):  # type: ignore[misc]  # as above
    """The same, before something that matters."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        _code(self, "The six figures that the app on your phone shows, or one of your recovery codes.")


class FirstCodeForm(ActivateTOTPForm):  # type: ignore[misc]  # as above
    """Proof that the app knows the secret."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        _code(self, "The six figures that the app shows now.")


class NewPasskeyForm(AddWebAuthnForm):  # type: ignore[misc]  # as above
    """A phone, a computer or a key on the key ring."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        speak(self, name="What you call it", passwordless="Sign in with it alone, without a password")
        self.fields["passwordless"].help_text = "It then asks for your finger, face or PIN each time."
        self.fields["passwordless"].initial = True


class PasskeyNameForm(EditWebAuthnForm):  # type: ignore[misc]  # as above
    """Another name for it."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        speak(self, name="What you call it")

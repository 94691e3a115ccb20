"""How people come in: no sign-up by strangers, plain words, mail that may fail, secrets encrypted."""

import base64
import hashlib
import logging
import time
from smtplib import SMTPException
from typing import Any

from allauth.account.adapter import DefaultAccountAdapter
from allauth.core.internal import ratelimit
from allauth.mfa.adapter import DefaultMFAAdapter
from allauth.mfa.models import Authenticator
from cryptography.fernet import Fernet, MultiFernet
from django.conf import settings
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse
from django.utils import timezone

from collection.host.sealing import secrets
from collection.models import Person
from collection.people.actions.sign_ins import is_known, note_sign_in
from collection.people.devices import device_of, keep_device
from collection.people.tries import count_try, forget_tries, in_words
from collection.web.visitors import address_of, network_of

log = logging.getLogger(__name__)
MOST_FROM_A_NETWORK = "10/m/ip"  # policy: wrong passwords a minute, from browsers that are not known
CODE_WRONG = "That is not the code of this moment: wait for the next one and type it at once."


class Doorkeeper(DefaultAccountAdapter):  # type: ignore[misc]  # allauth is not typed
    """Sign-in by e-mail address and password."""

    error_messages = DefaultAccountAdapter.error_messages | {
        "email_password_mismatch": "That e-mail address and password do not belong together. Check both: "
        "capitals matter in the password.",
        "too_many_login_attempts": "Too many tries from your network: wait a minute.",
        "incorrect_password": "This is not your password: type it again.",
        "incorrect_code": CODE_WRONG,
        "rate_limited": "Too many tries: wait a minute.",
    }

    def is_open_for_signup(self, request: HttpRequest) -> bool:  # noqa: ARG002 - allauth's signature
        """Never: people join by an invitation."""
        return False

    def send_mail(self, template_prefix: str, email: str, context: dict[str, Any]) -> None:
        """Send where a server is named; what cannot be sent is logged and does not stop the page."""
        try:
            super().send_mail(template_prefix, email, context)
        except (OSError, SMTPException):
            log.exception("mail %s could not be sent", template_prefix)

    def send_notification_mail(
        self, template_prefix: str, user: Person, context: Any = None, email: str | None = None
    ) -> None:
        """Tell the person by the one address that they have."""
        super().send_notification_mail(template_prefix, user, context, email or user.email)

    def pre_authenticate(self, request: HttpRequest, **credentials: Any) -> None:
        """Make who guesses wait, and nobody else: allauth's own limit shuts an address for all."""
        email = str(credentials.get("email") or "").lower()
        known = is_known(email=email, device=device_of(request))
        if not known:  # many addresses tried from one network
            usage = ratelimit.consume(
                request,
                app="allauth.account",
                action="login_failed",
                config={"login_failed": MOST_FROM_A_NETWORK},
            )
            if not usage:
                raise self.validation_error("too_many_login_attempts")
            self._login_failed_rl_usage = usage
        if wait := count_try(_pair(request, email), time.time()):
            forgotten = (
                " Or choose a new password: “The password is forgotten”." if settings.SENDS_MAIL else ""
            )
            raise ValidationError(f"Too many tries: wait {in_words(wait)}.{forgotten}")

    def authenticate(self, request: HttpRequest, **credentials: Any) -> Any:
        """Who is right need not wait the next time."""
        person = super().authenticate(request, **credentials)
        if person:
            forget_tries(_pair(request, str(credentials.get("email") or "").lower()))
        return person

    def post_login(self, request: HttpRequest, user: Person, **kwargs: Any) -> HttpResponse:
        """Keep from where they came, and write to them where that is new."""
        response: HttpResponse = super().post_login(request, user, **kwargs)
        made = note_sign_in(
            person=user,
            device=keep_device(request, response),
            network=network_of(address_of(request)),
            browser=request.headers.get("User-Agent", ""),
            now=timezone.now(),
        )
        if made.new_device or made.new_network:
            self.send_notification_mail("account/email/new_sign_in", user, {"sign_in": made})
        return response


def _pair(request: HttpRequest, email: str) -> tuple[str, str]:
    """What wrong passwords are counted by: the address with a browser known there, else with the network."""
    device = device_of(request)
    return email, device if is_known(email=email, device=device) else network_of(address_of(request))


def forgive(request: HttpRequest, email: str) -> None:
    """The way back: who has chosen a new password by mail need not wait for the wrong ones before."""
    forget_tries(_pair(request, email.lower()))


class SecondFactor(DefaultMFAAdapter):  # type: ignore[misc]  # allauth is not typed
    """Authenticator apps, passkeys and recovery codes; their secrets lie encrypted in the database."""

    error_messages = DefaultMFAAdapter.error_messages | {"incorrect_code": CODE_WRONG}

    def encrypt(self, text: str) -> str:
        """So that a copy of the database alone does not sign anybody in."""
        return _cipher().encrypt(text.encode()).decode()

    def decrypt(self, encrypted_text: str) -> str:
        """What ``encrypt`` hid."""
        return _cipher().decrypt(encrypted_text.encode()).decode()

    def generate_authenticator_name(self, user: Person, type: Authenticator.Type) -> str:  # noqa: A002
        """A first name for a new passkey."""
        had = Authenticator.objects.filter(user=user, type=type).count()
        return "My phone or key" if not had else f"Key {had + 1}"


def _cipher() -> MultiFernet:
    """Seals under the secret of now, opens what was sealed under those before."""
    keys = [hashlib.sha256(b"second factor\0" + secret.encode()).digest() for secret in secrets()]
    return MultiFernet([Fernet(base64.urlsafe_b64encode(key)) for key in keys])

"""How people come in: no sign-up by strangers, plain words, mail that may fail, secrets encrypted."""

import base64
import hashlib
import logging
from smtplib import SMTPException
from typing import Any

from allauth.account.adapter import DefaultAccountAdapter
from allauth.mfa.adapter import DefaultMFAAdapter
from allauth.mfa.models import Authenticator
from cryptography.fernet import Fernet
from django.conf import settings
from django.http import HttpRequest

from collection.models import Person

log = logging.getLogger(__name__)
CODE_WRONG = "That is not the code of this moment: wait for the next one and type it at once."


class Doorkeeper(DefaultAccountAdapter):  # type: ignore[misc]  # allauth is not typed
    """Sign-in by e-mail address and password."""

    error_messages = DefaultAccountAdapter.error_messages | {
        "email_password_mismatch": "That e-mail address and password do not belong together. Check both: "
        "capitals matter in the password. A manager can give you a new one.",
        "too_many_login_attempts": "Too many tries: wait five minutes, or ask a manager for a new password.",
        "incorrect_password": "This is not your password: type it again.",
        "incorrect_code": CODE_WRONG,
        "rate_limited": "Too many tries: wait a minute.",
    }

    def is_open_for_signup(self, request: HttpRequest) -> bool:  # noqa: ARG002 - allauth's signature
        """Never: a manager adds people."""
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


def _cipher() -> Fernet:
    secret = hashlib.sha256(b"second factor\0" + settings.SECRET_KEY.encode()).digest()
    return Fernet(base64.urlsafe_b64encode(secret))

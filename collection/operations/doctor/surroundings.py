"""Settings: what the environment says, and whether it holds together."""

import os
from collections.abc import Iterator

from django.conf import settings
from django.core import checks
from django.core.mail import get_connection

from collection.operations.doctor.finding import Finding, Look, odd

LOCAL = {"localhost", "127.0.0.1", "[::1]"}


def mode(_look: Look) -> Iterator[Finding]:
    """Whoever is reached by others runs in production."""
    others = sorted(set(settings.ALLOWED_HOSTS) - LOCAL)
    if not settings.PRODUCTION and others:
        yield Finding(
            f"The site answers as {', '.join(others)} in LONGSTAND_MODE local: all travels in plain text.",
            "Set LONGSTAND_MODE=production, behind a proxy that speaks HTTPS.",
        )
    if settings.DEBUG:
        yield odd("LONGSTAND_DEBUG shows inner workings on error pages.", "Unset it.")


def hosts(_look: Look) -> Iterator[Finding]:
    """The names of the site are names."""
    if "*" in settings.ALLOWED_HOSTS:
        yield Finding(
            "LONGSTAND_HOSTS is *: anybody may put another name into the links of mails.",
            "Name the hosts that serve the site.",
        )


def https(_look: Look) -> Iterator[Finding]:
    """Links lead to HTTPS where that is spoken."""
    if settings.PRODUCTION and not settings.ADDRESS.startswith("https://"):
        yield Finding(
            f"LONGSTAND_ADDRESS is {settings.ADDRESS}: links in mails lead into plain HTTP.",
            "Write it with https://.",
        )


def secret(_look: Look) -> Iterator[Finding]:
    """The secret key is long and its own."""
    if len(settings.SECRET_KEY) < 50 or len(set(settings.SECRET_KEY)) < 5:
        name = "LONGSTAND_SECRET_KEY" if os.environ.get("LONGSTAND_SECRET_KEY") else "The file secret-key"
        yield Finding(
            f"{name} is short enough to be guessed.",
            "Give a random text of 50 letters or more. Everybody signs in again, and sets up second factors "
            "again.",
        )


def mail(look: Look) -> Iterator[Finding]:
    """Mail goes out."""
    if not settings.SENDS_MAIL:
        yield odd(
            "No mail goes out: an operator hands over links for new passwords; there is no weekly mail.",
            "Set LONGSTAND_MAIL if you want them.",
        )
    elif look.deep:
        try:
            with get_connection():
                pass
        except OSError as error:
            yield Finding(f"The mail server does not take us in: {error}.", "Look at LONGSTAND_MAIL.")


def rules(_look: Look) -> Iterator[Finding]:
    """What the framework checks by itself, for deployment too where this is one."""
    for message in checks.run_checks(include_deployment_checks=settings.PRODUCTION):
        if not message.is_silenced():
            yield Finding(
                f"{message.msg} ({message.id})",
                message.hint or "See the message.",
                wrong=message.level >= checks.WARNING,
            )

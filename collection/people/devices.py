"""Which browser it is: a signed cookie that a browser keeps from one sign-in to the next.

After "device cookies" as OWASP describes them (Slow Down Online Guessing Attacks with Device Cookies):
who guesses passwords elsewhere has not the cookie of a browser that was in before.
"""

import hashlib
import secrets

from django.conf import settings
from django.http import HttpRequest, HttpResponse

COOKIE, SALT = "longstand_device", "device"
AGE_S = 2 * 365 * 86400  # a browser unused for longer counts as new


def device_of(request: HttpRequest) -> str:
    """The digest under which this browser is known; empty for one that has no cookie of ours."""
    cookie = request.get_signed_cookie(COOKIE, default="", salt=SALT, max_age=AGE_S)
    return digest_of(cookie) if cookie else ""


def keep_device(request: HttpRequest, response: HttpResponse) -> str:
    """Give the browser its cookie, or the same one for longer; the digest under which it is known."""
    cookie = request.get_signed_cookie(COOKIE, default="", salt=SALT, max_age=AGE_S) or secrets.token_urlsafe(
        24
    )
    response.set_signed_cookie(
        COOKIE,
        cookie,
        salt=SALT,
        max_age=AGE_S,
        httponly=True,
        samesite="Lax",
        secure=settings.SESSION_COOKIE_SECURE,
    )
    return digest_of(cookie)


def digest_of(cookie: str) -> str:
    """What is kept of a cookie."""
    return hashlib.sha256(cookie.encode()).hexdigest()

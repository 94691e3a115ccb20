"""Configuration mistakes, told before they hurt."""

from typing import Any

from django.conf import settings
from django.core import checks
from django.core.checks import CheckMessage, Tags, register


@register(Tags.security, deploy=True)
def mode_is_production(**_: Any) -> list[CheckMessage]:
    """An installation checked for deployment must not run in local mode."""
    if settings.PRODUCTION:
        return []
    return [
        checks.Warning(
            "LONGSTAND_MODE is 'local': cookies and pages travel in plain text.",
            hint="Set LONGSTAND_MODE=production and LONGSTAND_HOSTS, behind a proxy that speaks HTTPS.",
            id="collection.W001",
        )
    ]

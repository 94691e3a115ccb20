"""Who comes without a sign-in: from which network, and whether too often."""

from datetime import datetime
from ipaddress import ip_address, ip_network

from django.conf import settings
from django.core.cache import cache
from django.http import HttpRequest

MOST_A_MINUTE = 30  # policy: a person reading, printing and comparing stays far below
MOST_MISSES_AN_HOUR = 20  # policy: nobody mistypes a link of 43 characters more often
NETWORK_BITS = {4: 24, 6: 48}  # what is kept of an address: a network, no person


def address_of(request: HttpRequest) -> str:
    """The visitor's address: behind proxies of ours, the one that the outermost of them saw."""
    forwarded = request.META.get("HTTP_X_FORWARDED_FOR", "").split(",")
    proxies = settings.ALLAUTH_TRUSTED_PROXY_COUNT
    if 0 < proxies <= len(forwarded) and forwarded[-proxies].strip():
        return str(forwarded[-proxies].strip())
    return str(request.META.get("REMOTE_ADDR", ""))


def network_of(address: str) -> str:
    """The address cut short; empty where it is none."""
    try:
        bits = NETWORK_BITS[ip_address(address).version]
        return str(ip_network(f"{address}/{bits}", strict=False))
    except ValueError:
        return ""


def too_many(address: str, now: datetime) -> bool:
    """Count one visit; whether this network has made too many within the minute."""
    return _count("visits", network_of(address), f"{now:%Y%m%d%H%M}", 60) > MOST_A_MINUTE


def missed_too_often(address: str, now: datetime) -> bool:
    """Whether this network has tried too many links that do not exist within the hour."""
    return int(cache.get(_key("misses", network_of(address), f"{now:%Y%m%d%H}"), 0)) >= MOST_MISSES_AN_HOUR


def note_miss(address: str, now: datetime) -> None:
    """Count a link that does not exist."""
    _count("misses", network_of(address), f"{now:%Y%m%d%H}", 3600)


def _key(what: str, network: str, spell: str) -> str:
    return f"{what}-{network.replace('/', '_').replace(':', '.')}-{spell}"


def _count(what: str, network: str, spell: str, seconds: int) -> int:
    key = _key(what, network, spell)
    if cache.add(key, 1, timeout=2 * seconds):
        return 1
    try:
        return int(cache.incr(key))
    except ValueError:  # it ended between the two
        return 1

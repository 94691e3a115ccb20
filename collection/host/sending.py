"""Posting to an address that somebody typed: only to the open internet, once, briefly; nowhere else.

The name is resolved here, every address it has is looked at, and the connection goes to the address
that was looked at: a name that answers otherwise a moment later gains nothing. No redirect is
followed, of an answer no more is read than was asked for, and time is bounded.
"""

import threading
from collections.abc import Mapping
from contextlib import suppress
from dataclasses import dataclass
from http.client import HTTPConnection, HTTPException, HTTPSConnection
from ipaddress import IPv4Address, IPv6Address, IPv6Network, ip_address, ip_network
from socket import SHUT_RDWR, SOCK_STREAM, create_connection, getaddrinfo, socket
from ssl import create_default_context
from urllib.parse import SplitResult, urlsplit

from django.conf import settings

STEP_SECONDS = 10.0  # to connect, and between two pieces of an answer (policy)
ALL_SECONDS = 20.0  # for the whole exchange (policy; the specification asks for 15 to 30 seconds)
MOST_SAID = 160  # characters of a failure that are kept
NAT64 = IPv6Network("64:ff9b::/96")  # RFC 6052
UNICAST = IPv6Network("2000::/3")  # all that is given out to the internet (IANA, IPv6 address space)
# Not globally reachable by the IANA special-purpose address registries, or given back; Python's own
# table, which is asked too, grows with its version.
UNROUTED = tuple(
    ip_network(network)
    for network in (
        "192.0.0.0/24",  # RFC 6890: protocol assignments
        "192.0.2.0/24",  # RFC 5737: documentation, and the two that follow
        "198.51.100.0/24",
        "203.0.113.0/24",
        "192.88.99.0/24",  # RFC 7526: 6to4 relays, ended
        "198.18.0.0/15",  # RFC 2544: benchmarks
        "2001:2::/48",  # RFC 5180: benchmarks
        "2001:10::/28",  # RFC 4843: ORCHID, ended
        "2001:20::/28",  # RFC 7343: ORCHIDv2, names of hosts that no router knows
        "2001:db8::/32",  # RFC 3849: documentation
        "3ffe::/16",  # RFC 3701: 6bone, given back
        "3fff::/20",  # RFC 9637: documentation
    )
)


class NotSent(Exception):
    """It did not arrive; the text says why, for the deliveries page."""


@dataclass(frozen=True)
class Answered:
    """What the other side said."""

    status: int
    body: bytes = b""

    @property
    def took_it(self) -> bool:
        """Any 2xx."""
        return 200 <= self.status < 300


def fault_of_address(address: str) -> str:
    """What is wrong with an address before anything is resolved; empty when nothing is."""
    try:
        parts = urlsplit(address)
        port = parts.port
    except ValueError:
        return "This is no address: write it as https://host/path."
    if parts.scheme != "https" and not (settings.WEBHOOKS_INSIDE and parts.scheme == "http"):
        return "Only https is sent to: write the address as https://host/path."
    if not parts.hostname or parts.username or parts.password or parts.fragment or port == 0:
        return "Write the address as https://host/path, without a name, a password or a #."
    if not parts.hostname.isascii() or not (parts.path + parts.query).isascii():
        return "Write the address in plain letters: a name with others in its xn-- form, a path in %-form."
    return ""


def post(address: str, body: bytes, headers: Mapping[str, str], *, most: int = 0) -> Answered:
    """Send once; NotSent with the reason where nothing was answered. ``most``: bytes of the answer read."""
    if wrong := fault_of_address(address):
        raise NotSent(wrong)
    parts = urlsplit(address)
    ends = _ends(parts)
    connection = _connection(parts, ends)
    watch = threading.Timer(ALL_SECONDS, connection.cut)
    watch.start()
    try:
        target = parts.path or "/"
        connection.request("POST", f"{target}?{parts.query}" if parts.query else target, body, dict(headers))
        answer = connection.getresponse()
        return Answered(answer.status, answer.read(most) if most else b"")
    except (OSError, HTTPException, ValueError) as fault:
        raise NotSent(f"{type(fault).__name__}: {fault}"[:MOST_SAID]) from fault
    finally:
        watch.cancel()
        connection.close()


def _ends(parts: SplitResult) -> list[str]:
    """The addresses behind the name, all of them on the open internet."""
    port = parts.port or {"https": 443, "http": 80}[parts.scheme]
    try:
        addresses = getaddrinfo(parts.hostname, port, type=SOCK_STREAM)
    except (OSError, UnicodeError) as fault:
        raise NotSent(f"The name {parts.hostname} is not known.") from fault
    ends = [str(info[4][0]) for info in addresses]
    if not settings.WEBHOOKS_INSIDE and not all(is_outside(ip_address(end)) for end in ends):
        raise NotSent("The address leads to a private network or to none: nothing is sent there.")
    return ends


def is_outside(end: IPv4Address | IPv6Address) -> bool:
    """Whether an address is on the open internet, also where an IPv6 address wraps an IPv4 one."""
    if isinstance(end, IPv6Address):
        inner = end.ipv4_mapped or end.sixtofour or (end.teredo[1] if end.teredo else None)
        if inner is None and end in NAT64:
            inner = IPv4Address(int(end) & 0xFFFF_FFFF)
        if inner is not None:
            return is_outside(inner)
        if end not in UNICAST:
            return False
    unrouted = any(end in network for network in UNROUTED if network.version == end.version)
    return end.is_global and not (end.is_multicast or end.is_reserved or unrouted)


def _connection(parts: SplitResult, ends: list[str]) -> "_Plain | _Secure":
    """A connection that goes to the addresses looked at, and proves to be the name's."""
    made = _Plain if parts.scheme == "http" else _Secure
    connection = made(str(parts.hostname), parts.port, timeout=STEP_SECONDS)
    connection.ends = ends
    return connection


class _Looked:
    """Where a connection may go, whatever its name says by now."""

    ends: list[str]
    opened: socket | None = None

    def reach(self, port: int) -> socket:
        """A socket to the first of the addresses that answers."""
        for last, end in enumerate(self.ends, 1 - len(self.ends)):
            try:
                self.opened = create_connection((end, port), STEP_SECONDS)
                return self.opened
            except OSError:
                if last == 0:
                    raise
        raise NotSent("The name leads nowhere.")

    def cut(self) -> None:
        """End an exchange that takes too long, whatever it waits for."""
        if self.opened is not None:
            with suppress(OSError):
                self.opened.shutdown(SHUT_RDWR)


class _Plain(_Looked, HTTPConnection):
    """Without TLS, for addresses inside."""

    def connect(self) -> None:
        """Open the socket to an address looked at."""
        self.sock = self.reach(self.port)


class _Secure(_Looked, HTTPSConnection):
    """Under TLS; the certificate must be the name's."""

    def connect(self) -> None:
        """Open the socket to an address looked at, then prove the name."""
        plain = self.reach(self.port)
        try:
            self.sock = self.opened = create_default_context().wrap_socket(plain, server_hostname=self.host)
        except BaseException:
            plain.close()
            raise

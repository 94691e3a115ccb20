"""Posting to an address that somebody typed: only to the open internet, once, briefly.

The name is resolved here, every address it has is looked at, and the connection goes to the address
that was looked at: a name that answers otherwise a moment later gains nothing. No redirect is
followed. Times and sizes are bounded.
"""

import ssl
import threading
from collections.abc import Mapping
from dataclasses import dataclass
from http.client import HTTPConnection, HTTPException, HTTPSConnection
from ipaddress import IPv4Address, IPv6Address, IPv6Network, ip_address
from socket import SHUT_RDWR, SOCK_STREAM, create_connection, getaddrinfo, socket
from urllib.parse import SplitResult, urlsplit

from django.conf import settings

STEP_SECONDS = 10.0  # to connect, and between two pieces of an answer (policy)
ALL_SECONDS = 20.0  # for the whole exchange (policy; the specification asks for 15 to 30 seconds)
MOST_READ = 1024  # bytes of an answer that are read (policy: only its status matters)
MOST_SAID = 160  # characters of a failure that are kept
NAT64 = IPv6Network("64:ff9b::/96")  # RFC 6052


class NotSent(Exception):
    """It did not arrive; the text says why, for the deliveries page."""


@dataclass(frozen=True)
class Answered:
    """What the other side said."""

    status: int

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


def post(address: str, body: bytes, headers: Mapping[str, str]) -> Answered:
    """Send once; NotSent with the reason where nothing was answered."""
    if wrong := fault_of_address(address):
        raise NotSent(wrong)
    parts = urlsplit(address)
    ends = _ends(parts)
    connection = _connection(parts, ends[0])
    watch = threading.Timer(ALL_SECONDS, _cut, [connection])
    watch.start()
    try:
        target = parts.path or "/"
        connection.request("POST", f"{target}?{parts.query}" if parts.query else target, body, dict(headers))
        answer = connection.getresponse()
        answer.read(MOST_READ)
        return Answered(answer.status)
    except (OSError, HTTPException, ValueError) as fault:
        raise NotSent(f"{type(fault).__name__}: {fault}"[:MOST_SAID]) from fault
    finally:
        watch.cancel()
        connection.close()


def _ends(parts: SplitResult) -> list[str]:
    """The addresses behind the name, all of them on the open internet."""
    port = parts.port or {"https": 443, "http": 80}[parts.scheme]
    try:
        found = getaddrinfo(parts.hostname, port, type=SOCK_STREAM)
    except (OSError, UnicodeError) as fault:
        raise NotSent(f"The name {parts.hostname} is not known.") from fault
    ends = [str(info[4][0]) for info in found]
    if not settings.WEBHOOKS_INSIDE and not all(is_outside(ip_address(end)) for end in ends):
        raise NotSent("The address leads to a private network: nothing is sent there.")
    return ends


def is_outside(end: IPv4Address | IPv6Address) -> bool:
    """Whether an address is on the open internet, also where an IPv6 address wraps an IPv4 one."""
    if isinstance(end, IPv6Address):
        inner = end.ipv4_mapped or end.sixtofour or (end.teredo[1] if end.teredo else None)
        if inner is None and end in NAT64:
            inner = IPv4Address(int(end) & 0xFFFF_FFFF)
        if inner is not None:
            return is_outside(inner)
    return end.is_global and not end.is_multicast and not end.is_reserved


def _connection(parts: SplitResult, end: str) -> HTTPConnection:
    """A connection that goes to the address looked at, and proves to be the name's."""
    host, port = str(parts.hostname), parts.port
    if parts.scheme == "http":
        return _Plain(host, port, end)
    return _Secure(host, port, end)


class _Plain(HTTPConnection):
    """To one address, whatever the name says by now."""

    def __init__(self, host: str, port: int | None, end: str) -> None:
        super().__init__(host, port, timeout=STEP_SECONDS)
        self.end = end

    def connect(self) -> None:
        """Open the socket to the address looked at."""
        self.sock: socket = create_connection((self.end, self.port), STEP_SECONDS)


class _Secure(HTTPSConnection):
    """The same under TLS; the certificate must be the name's."""

    def __init__(self, host: str, port: int | None, end: str) -> None:
        self.context = ssl.create_default_context()
        super().__init__(host, port, timeout=STEP_SECONDS, context=self.context)
        self.end = end

    def connect(self) -> None:
        """Open the socket to the address looked at, then prove the name."""
        plain = create_connection((self.end, self.port), STEP_SECONDS)
        try:
            self.sock = self.context.wrap_socket(plain, server_hostname=self.host)
        except BaseException:
            plain.close()
            raise


def _cut(connection: HTTPConnection) -> None:
    """End an exchange that takes too long, whatever it waits for."""
    if connection.sock is not None:
        try:
            connection.sock.shutdown(SHUT_RDWR)
        except OSError:
            connection.sock.close()

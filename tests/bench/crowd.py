"""Many people at once, by one thread: all are connected first, then all ask in the same moment."""

import selectors
import socket
from dataclasses import dataclass, field
from time import perf_counter

PATIENCE_S = 120


@dataclass
class Answer:
    """What one of them got, and how long it took from the moment in which all asked, in seconds."""

    seconds: float = 0.0
    received: bytearray = field(default_factory=bytearray)

    @property
    def status(self):
        return int(self.received.split(b" ", 2)[1]) if self.received else 0

    @property
    def headers(self):
        head = self.received.partition(b"\r\n\r\n")[0].decode("latin-1").split("\r\n")[1:]
        return {name.lower(): value for name, _, value in (line.partition(": ") for line in head)}

    @property
    def body(self):
        return bytes(self.received.partition(b"\r\n\r\n")[2])


def request(path, cookies=(), method="GET", body=b"", content_type="", headers=()):
    """One request as it goes over the wire; the server hangs up after its answer."""
    lines = [f"{method} {path} HTTP/1.1", "Host: localhost", "Connection: close", "Accept: text/html"]
    if cookies:
        lines.append("Cookie: " + "; ".join(f"{name}={value}" for name, value in cookies))
    if body or method != "GET":
        lines += [f"Content-Type: {content_type}", f"Content-Length: {len(body)}"]
    return "\r\n".join([*lines, *headers, "", ""]).encode() + body


def at_once(port, requests):
    """The answers to all these requests, sent in one moment, each on a connection of its own."""
    callers = [socket.create_connection(("127.0.0.1", port), PATIENCE_S) for _ in requests]
    answers = [Answer() for _ in requests]
    with selectors.DefaultSelector() as waiting:
        for caller, answer in zip(callers, answers, strict=True):
            waiting.register(caller, selectors.EVENT_READ, answer)
        began = perf_counter()
        for caller, asked in zip(callers, requests, strict=True):
            caller.sendall(asked)
        while waiting.get_map():
            ready = waiting.select(PATIENCE_S)
            assert ready, "no answer came"
            for key, _ in ready:
                _receive(waiting, key, began)
    return answers


def _receive(waiting, key, began):
    try:
        part = key.fileobj.recv(262_144)
    except ConnectionError:
        part = b""
    key.data.received += part
    if not part:
        key.data.seconds = perf_counter() - began
        waiting.unregister(key.fileobj)
        key.fileobj.close()

"""What a file might make its reader do; run in a child by test_contained."""

import ctypes
import os
import time
from pathlib import Path


def echo(data, facts, tell):
    tell("at work")
    return {"facts": facts, "key": os.environ.get("LONGSTAND_SECRET_KEY")}, data


def spin(data, facts, tell):
    while True:
        pass


def swell(data, facts, tell):
    return {"n": len([bytearray(10_000_000) for _ in range(1000)])}, b""


def sleep(data, facts, tell):
    tell(str(os.getpid()))
    time.sleep(600)
    return {}, b""


def chatter(data, facts, tell):
    return {}, bytes(9_000_000)


def crash(data, facts, tell):
    ctypes.string_at(0)
    return {}, b""


def write(data, facts, tell):
    Path(facts["path"]).write_bytes(b"x" * 100)
    return {}, b""

"""Each write under a key of its own: a machine that sends one key again is refused, or told of the past."""

import re
from uuid import uuid4

import schemathesis

GOOD = re.compile(r"[A-Za-z0-9_.:-]{8,100}")


@schemathesis.hook
def before_call(context, case, kwargs):
    """A good key is made new; a bad or missing one stays, since it is what is tried."""
    headers = case.headers or {}
    for name in [name for name in headers if name.lower() == "idempotency-key"]:
        if isinstance(headers[name], str) and GOOD.fullmatch(headers[name]):
            headers[name] = str(uuid4())

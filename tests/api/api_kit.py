"""What the tests of the API share: tokens, a client that speaks JSON, one of everything to ask for."""

import json
import uuid
from datetime import UTC, datetime

from django.test import Client

from collection.api.actions.tokens import allowed_scopes, make_token
from collection.models import Membership

ROOT = "/api/v1"


def now():
    return datetime.now(UTC)


def token_for(person, *scopes, expires_at=None):
    """A token and its secret; without scopes, every one that the role allows."""
    member = Membership.objects.get(person=person)
    wanted = scopes or tuple(allowed_scopes(member.role))
    return make_token(membership=member, name="Test", scopes=wanted, expires_at=expires_at, now=now())


class Programme:
    """Speaks JSON with a token."""

    def __init__(self, secret, key=True):
        self.client, self.key = Client(raise_request_exception=False), key
        self.headers = {"authorization": f"Bearer {secret}"}

    def get(self, path, **query):
        return self.client.get(ROOT + path, query, headers=self.headers)

    def send(self, method, path, body=None, key=None):
        headers = self.headers | {"idempotency-key": key or str(uuid.uuid4())}
        raw = body if isinstance(body, bytes) else json.dumps(body or {}).encode()
        call = getattr(self.client, method)
        return call(ROOT + path, raw, content_type="application/json", headers=headers)

    def post(self, path, body=None, key=None):
        return self.send("post", path, body, key)


def programme(person, *scopes):
    return Programme(token_for(person, *scopes)[1])

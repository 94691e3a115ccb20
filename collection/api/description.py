"""What the framework's description leaves out: refusals, headers, the token's scopes, a webhook's message."""

from typing import Any

from collection.api.door import SCOPE
from collection.api.problems import Problem
from collection.permissions import SCOPES
from collection.web.problem_json import KINDS, MEDIA_TYPE

Schema = dict[str, Any]
BEARER = "Bearer"
TEXT = {"type": "string"}
# refusals of every operation, and those of some
ALWAYS, WITH_ID, SENDING = (401, 403, 406, 422, 429, 500, 503), (404,), (400, 404, 413, 415, 507)
WAITING = (429, 503)  # those that say how long to wait
PROBLEM = {"schema": {"$ref": "#/components/schemas/Problem"}}
# what a parameter is, wherever it stands
PARAMETERS = {
    "limit": "How many at once.",
    "offset": "How many to leave out.",
    "car_id": "The car.",
    "site_id": "The site.",
    "owner_id": "The owner.",
    "building_id": "The building.",
    "entry_id": "The entry.",
    "file_id": "The photograph or document.",
    "statement_id": "The statement.",
    "webhook_id": "The webhook.",
    "delivery_id": "The message on its way.",
    "duty": "The duty.",
    "state": "Only duties in this state.",
    "urgency": "Only duties of this urgency.",
    "within_days": "Only what is due so soon.",
    "regime": "Only cars kept so.",
    "text": "Words in names, numbers and the year.",
    "left": "Also cars that left storage.",
    "kind": "Only this kind of entry.",
    "from_day": "From this day on.",
    "to_day": "Up to this day.",
    "standing": "Leave out what was corrected or withdrawn.",
    "quantity": "Only readings of this.",
    "back_days": "So many days back.",
    "ahead_days": "So many ahead.",
    "weeks": "Weeks from this one on.",
}
IF_NONE_MATCH = {
    "name": "If-None-Match",
    "in": "header",
    "required": False,
    "description": "The ETag of what you have: answered 304, without a body, as long as it still holds.",
    "schema": TEXT,
}
RETRY_AFTER = {"description": "Seconds to wait.", "schema": {"type": "integer", "minimum": 1}}
ETAG = {"description": "Send it back as If-None-Match.", "schema": TEXT}
LINK = {
    "description": "Pages of the list: first, prev, next, last (RFC 8288).",
    "schema": TEXT,
}
REF = "#/components/schemas/{model}"


def describe(made: Schema) -> Schema:
    """The description with everything that a reader of it must know."""
    shapes = made["components"].setdefault("schemas", {})
    problem = Problem.model_json_schema(ref_template=REF)
    shapes |= problem.pop("$defs")
    shapes["Problem"] = problem
    for path, methods in made["paths"].items():
        for method, operation in methods.items():
            _refusals(operation, path, method)
            _parameters(operation)
            if method == "get":
                _reading(operation)
    made["components"]["securitySchemes"] = {BEARER: _bearer()}
    made["servers"] = [{"url": "/", "description": "This site."}]
    made["webhooks"] = {"dutiesChanged": {"post": _message(shapes)}}
    made["tags"] = _tags(made)
    return made


def _bearer() -> Schema:
    scopes = "; ".join(f"`{scope}`: {words}" for scope, (words, _) in SCOPES.items())
    return {"type": "http", "scheme": "bearer", "description": f"A token of a member. Scopes: {scopes}."}


def _refusals(operation: Schema, path: str, method: str) -> None:
    codes = set(ALWAYS)
    if "{" in path:
        codes |= set(WITH_ID)
    if method == "post":
        codes |= set(SENDING)
    responses = operation["responses"] = {str(code): one for code, one in operation["responses"].items()}
    for code in sorted(codes):
        title, meaning = KINDS[code]
        responses[str(code)] = {"description": f"{title}. {meaning}", "content": {MEDIA_TYPE: PROBLEM}}
    for code in WAITING:
        responses[str(code)]["headers"] = {"Retry-After": RETRY_AFTER}
    scope = operation.pop(SCOPE)
    operation["security"] = [{BEARER: [scope] if scope else []}]


def _reading(operation: Schema) -> None:
    """What is read has an ETag, a list its neighbouring pages."""
    is_list = any(one["name"] == "limit" for one in operation.get("parameters", ()))
    operation["responses"]["200"]["headers"] = {"ETag": ETAG} | ({"Link": LINK} if is_list else {})
    operation["responses"]["304"] = {"description": "Not changed.", "headers": {"ETag": ETAG}}
    operation["parameters"] = [*operation.get("parameters", ()), IF_NONE_MATCH]


def _parameters(operation: Schema) -> None:
    """Each in words. Examples stand in the schema; beside it OpenAPI wants them by name."""
    for one in operation.get("parameters", ()):
        if isinstance(one.get("examples"), list):
            del one["examples"]
        if one["name"] in PARAMETERS:
            one.setdefault("description", PARAMETERS[one["name"]])


def _tags(made: Schema) -> list[Schema]:
    used = dict.fromkeys(
        tag for methods in made["paths"].values() for one in methods.values() for tag in one.get("tags", ())
    )
    return [{"name": tag} for tag in used]


def _message(shapes: Schema) -> Schema:
    """What is sent to a webhook, and how it is signed."""
    day = {"type": ["string", "null"], "format": "date"}
    window = {
        "type": "object",
        "required": ["state", "urgency", "early_on", "due_on", "late_on", "hold"],
        "properties": {
            "state": {"$ref": "#/components/schemas/StateName"},
            "urgency": {"$ref": "#/components/schemas/Urgency"},
            "early_on": day,
            "due_on": day,
            "late_on": day,
            "hold": {"type": ["string", "null"]},
        },
    }
    shapes["DutyThen"] = window
    change = {
        "type": "object",
        "required": ["duty", "title", "before", "after"],
        "properties": {
            "duty": {"$ref": "#/components/schemas/DutyName"},
            "title": {"type": "string"},
            "before": {"oneOf": [{"$ref": "#/components/schemas/DutyThen"}, {"type": "null"}]},
            "after": {"$ref": "#/components/schemas/DutyThen"},
        },
    }
    shapes["DutiesChanged"] = {
        "type": "object",
        "required": ["type", "timestamp", "data"],
        "properties": {
            "type": {"const": "duties.changed"},
            "timestamp": {"type": "string", "format": "date-time"},
            "data": {
                "type": "object",
                "required": ["car_id", "car", "changes"],
                "properties": {
                    "car_id": {"type": "integer"},
                    "car": {"type": "string"},
                    "changes": {"type": "array", "items": change},
                },
            },
        },
    }
    headers = {
        "webhook-id": "The same however often it is sent: keep it, and do nothing the second time.",
        "webhook-timestamp": "Seconds since 1970 of this try: refuse what is older than five minutes.",
        "webhook-signature": "“v1,” and base64 of HMAC-SHA256 over id.timestamp.body under the secret, whose "
        "part after whsec_ is base64; several by blanks while a secret is changed.",
    }
    return {
        "operationId": "dutiesChanged",
        "summary": "A car's dates changed",
        "tags": ["Webhooks"],
        "description": "Sent by us, signed by the Standard Webhooks form (specification 1.0.0). A message of "
        "the type “test” carries no dates. Anything but 2xx is tried again for three days.",
        "parameters": [
            {"name": name, "in": "header", "required": True, "description": words, "schema": TEXT}
            for name, words in headers.items()
        ],
        "requestBody": {
            "required": True,
            "content": {"application/json": {"schema": {"$ref": "#/components/schemas/DutiesChanged"}}},
        },
        "responses": {"200": {"description": "Taken."}},
    }

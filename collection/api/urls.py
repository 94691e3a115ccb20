"""Addresses of programmes."""

from django.urls import URLPattern, URLResolver, path

from collection.api import site
from collection.api.protocol import keep_protocol
from collection.api.views import reference, tokens

programmes, app_name, namespace = site.api.urls
for pattern in programmes:
    if isinstance(pattern, URLPattern):
        pattern.callback = keep_protocol(pattern.callback)

urlpatterns: list[URLPattern | URLResolver] = [
    path("me/tokens/", tokens.tokens, name="tokens"),
    path("api/docs/", reference.reference, name="api_docs"),
    path("api/v1/openapi.json", keep_protocol(site.openapi), name="openapi"),
    path("api/v1/", keep_protocol(site.unknown), name="api_root"),
    path("api/v1/", (programmes, app_name, namespace)),
    path("api/v1/<path:rest>", keep_protocol(site.unknown), name="api_unknown"),
]

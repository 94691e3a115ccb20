"""Addresses of programmes."""

from django.urls import URLPattern, URLResolver, path

from collection.api import site
from collection.api.views import reference, tokens

urlpatterns: list[URLPattern | URLResolver] = [
    path("me/tokens/", tokens.tokens, name="tokens"),
    path("api/docs/", reference.reference, name="api_docs"),
    path("api/v1/openapi.json", site.openapi, name="openapi"),
    path("api/v1/", site.api.urls),
    path("api/v1/<path:rest>", site.unknown, name="api_unknown"),
]

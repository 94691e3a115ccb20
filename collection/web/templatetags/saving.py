"""Links that save a list as it is filtered now."""

from typing import Any

from django import template
from django.urls import reverse

register = template.Library()
FORMS = (("xlsx", "Workbook"), ("csv", "CSV"), ("json", "JSON"))


@register.inclusion_tag("parts/save_as.html", takes_context=True)
def save_as(
    context: dict[str, Any], name: str, pk: int | None = None, what: str = "this list"
) -> dict[str, Any]:
    """The three links of the list at the address of this name, for one car where ``pk`` is given."""
    request = context["request"]
    query = request.GET.copy()
    query.pop("page", None)
    tail = f"?{query.urlencode()}" if query else ""
    links = [
        (reverse(name, args=[form] if pk is None else [pk, form]) + tail, words) for form, words in FORMS
    ]
    return {"links": links, "what": what}

"""The entries at the head of a page, and the pages beside the one at hand."""

from dataclasses import dataclass

from django import template

from collection.navigation.tasks import Link, Task, opens, task_at, tasks_of

register = template.Library()


@dataclass(frozen=True)
class Way:
    """The entries, the one that the page belongs to, and the pages beside it."""

    tasks: list[Task]
    at: Task
    beside: list[Link]


@register.simple_tag(takes_context=True)
def way(context: template.Context) -> Way:
    """Where the reader is among what they may open; the request must have its access."""
    request = context["request"]
    at = task_at(request.path)
    beside = [link for link in at.pages if opens(request.access, link.name)]
    here = request.resolver_match.view_name if request.resolver_match else ""
    shown = len(beside) > 1 and any(link.name == here for link in beside)
    return Way(tasks_of(request.access), at, beside if shown else [])

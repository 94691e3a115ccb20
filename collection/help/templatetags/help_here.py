"""The page of Help that explains the page at hand."""

from django import template

from collection.help.contents import EXPLAINED_BY, HelpPage

register = template.Library()


@register.simple_tag(takes_context=True)
def help_here(context: template.Context) -> HelpPage | None:
    """That page; None where none explains this address, and on Help itself."""
    match = getattr(context.get("request"), "resolver_match", None)
    return EXPLAINED_BY.get(match.view_name) if match else None

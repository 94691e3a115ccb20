"""Help: its contents with the search, and its pages."""

from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from collection.help.contents import CONTENTS, PAGES
from collection.help.forms import SearchForm
from collection.help.queries.search import search
from collection.help.texts import blocks, body
from collection.permissions import SEE_CARS, AccessRequest, needs


@require_safe
@needs(SEE_CARS)
def contents(request: AccessRequest) -> HttpResponse:
    """Every page by subject, or what was found."""
    form = SearchForm(request.GET)
    asked = form.cleaned_data["q"] if form.is_valid() else ""
    results = search(asked) if asked else []
    return render(
        request,
        "help/contents.html",
        {"form": form, "asked": asked, "results": results, "contents": CONTENTS},
    )


@require_safe
@needs(SEE_CARS)
def page(request: AccessRequest, slug: str) -> HttpResponse:
    """One page, with its sections listed above it and the next page below."""
    shown = PAGES.get(slug)
    if shown is None:
        raise Http404
    text = body(shown)
    pages = list(PAGES.values())
    return render(
        request,
        "help/page.html",
        {
            "page": shown,
            "text": text,
            "sections": [block for block in blocks(text) if block.tag == "h2" and block.anchor],
            "next": pages[(pages.index(shown) + 1) % len(pages)],
            "form": SearchForm(),
        },
    )

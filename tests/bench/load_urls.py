"""Every address of the site, and three empty pages to measure it against."""

from django.contrib.auth.decorators import login_required
from django.http import HttpResponse
from django.shortcuts import render
from django.urls import path

from collection import urls
from collection.permissions import SEE_CARS, needs


def bare(request):
    """Nothing, to anybody: the whole middleware, no session read."""
    return HttpResponse()


@login_required
def empty(request):
    """Nothing, to somebody signed in: the whole middleware, the session and the person read."""
    return HttpResponse()


@needs(SEE_CARS)
def frame(request):
    """The site's frame with nothing in it: role and organisation read too, the template drawn."""
    return render(request, "base.html")


urlpatterns = [
    path("bench/bare/", bare),
    path("bench/empty/", empty),
    path("bench/frame/", frame),
    *urls.urlpatterns,
]

"""Stub: its helper replaces it."""

from django.http import HttpResponse


def due(request, **kwargs):
    return HttpResponse(status=501)


def why(request, **kwargs):
    return HttpResponse(status=501)


"""Stub: its helper replaces it."""

from django.http import HttpResponse


def runs(request, **kwargs):
    return HttpResponse(status=501)


"""Stub: its helper replaces it."""

from django.http import HttpResponse


def history(request, **kwargs):
    return HttpResponse(status=501)


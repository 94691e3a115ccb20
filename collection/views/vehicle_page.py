"""Stub: its helper replaces it."""

from django.http import HttpResponse


def car(request, **kwargs):
    return HttpResponse(status=501)


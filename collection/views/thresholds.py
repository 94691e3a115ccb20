"""Stub: its helper replaces it."""

from django.http import HttpResponse


def thresholds(request, **kwargs):
    return HttpResponse(status=501)


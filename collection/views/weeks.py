"""Stub: its helper replaces it."""

from django.http import HttpResponse


def week(request, **kwargs):
    return HttpResponse(status=501)


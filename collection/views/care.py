"""Stub: its helper replaces it."""

from django.http import HttpResponse


def log(request, **kwargs):
    return HttpResponse(status=501)


def log_kind(request, **kwargs):
    return HttpResponse(status=501)


def correct(request, **kwargs):
    return HttpResponse(status=501)


"""Stub: its helper replaces it."""

from django.http import HttpResponse


def people(request, **kwargs):
    return HttpResponse(status=501)


def member_new(request, **kwargs):
    return HttpResponse(status=501)


def member_edit(request, **kwargs):
    return HttpResponse(status=501)


def owner_new(request, **kwargs):
    return HttpResponse(status=501)


def owner_edit(request, **kwargs):
    return HttpResponse(status=501)


def me(request, **kwargs):
    return HttpResponse(status=501)


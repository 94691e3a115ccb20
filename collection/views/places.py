"""Stub: its helper replaces it."""

from django.http import HttpResponse


def places(request, **kwargs):
    return HttpResponse(status=501)


def site_new(request, **kwargs):
    return HttpResponse(status=501)


def site_edit(request, **kwargs):
    return HttpResponse(status=501)


def building_new(request, **kwargs):
    return HttpResponse(status=501)


def building_edit(request, **kwargs):
    return HttpResponse(status=501)


def bay_new(request, **kwargs):
    return HttpResponse(status=501)


def bay_edit(request, **kwargs):
    return HttpResponse(status=501)


def climate_new(request, **kwargs):
    return HttpResponse(status=501)


def climate_edit(request, **kwargs):
    return HttpResponse(status=501)


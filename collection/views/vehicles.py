"""Stub: its helper replaces it."""

from django.http import HttpResponse


def cars(request, **kwargs):
    return HttpResponse(status=501)


def car_new(request, **kwargs):
    return HttpResponse(status=501)


def car_edit(request, **kwargs):
    return HttpResponse(status=501)


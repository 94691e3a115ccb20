"""Organisations are walls between people."""

from django.db import models


class Organisation(models.Model):
    """A storage business, museum or private collection; nothing crosses from one to another."""

    name = models.CharField(max_length=120, unique=True)
    money = models.CharField(
        max_length=8, blank=True, help_text="The money in which its rates are, as it is written: £, €, SEK."
    )

    def __str__(self) -> str:
        return self.name

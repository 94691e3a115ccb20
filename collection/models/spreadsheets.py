"""A table that somebody brings in: what was read of it, how it is mapped, how far it has come."""

import uuid
from typing import ClassVar

from django.db import models

from collection.models.organisations import Organisation
from collection.models.people import Person


class SheetKind(models.TextChoices):
    """What a table is brought in for."""

    CARS = "cars", "Cars"
    LOG = "log", "Care log"


class SheetState(models.TextChoices):
    """Where it stands; the states that end in -ing are those of a job at work."""

    MAPPING = "mapping", "Columns to be looked at"
    CHECKING = "checking", "Being checked"
    CHECKED = "checked", "Checked"
    IMPORTING = "importing", "Being brought in"
    IMPORTED = "imported", "Brought in"
    UNDOING = "undoing", "Being taken back"
    UNDONE = "undone", "Taken back"


class SheetImport(models.Model):
    """One file on its way in. Its values are kept until it is in, or for some days; never the file."""

    id = models.UUIDField(primary_key=True, default=uuid.uuid4, editable=False)
    organisation = models.ForeignKey(Organisation, models.CASCADE, related_name="sheets")
    by = models.ForeignKey(Person, models.SET_NULL, null=True, related_name="sheets")
    kind = models.CharField(max_length=8, choices=SheetKind)
    name = models.CharField(max_length=200)
    sent_at = models.DateTimeField()
    data = models.BinaryField(null=True)  # see collection.spreadsheets.sheets.cells.pack
    mapping = models.JSONField(default=dict)
    skip_doubles = models.BooleanField(default=True)
    state = models.CharField(max_length=10, choices=SheetState, default=SheetState.MAPPING)
    job = models.UUIDField(null=True)  # of the job that may write; another one that still runs may not
    beat_at = models.DateTimeField(null=True)  # when the job was last seen at work
    done = models.PositiveIntegerField(default=0)
    rows = models.PositiveIntegerField(default=0)
    report = models.JSONField(default=dict)  # what the check found
    result = models.JSONField(default=dict)  # what was brought in
    undone = models.JSONField(default=dict)  # what was taken back
    # the batch as it is stated in the organisation's chain: see collection.spreadsheets.actions.batches
    brought_in = models.CharField(max_length=200, blank=True)
    taken_back = models.CharField(max_length=200, blank=True)
    problem = models.TextField(blank=True)
    ended_at = models.DateTimeField(null=True)

    class Meta:
        ordering: ClassVar = ["-sent_at"]
        verbose_name_plural = "tables brought in"

    def __str__(self) -> str:
        return f"{self.name}, {self.get_kind_display()}"


class SheetMemory(models.Model):
    """How an organisation mapped the columns of tables with these headings last time."""

    organisation = models.ForeignKey(Organisation, models.CASCADE, related_name="sheet_memories")
    kind = models.CharField(max_length=8, choices=SheetKind)
    signature = models.CharField(max_length=64)
    columns = models.JSONField(default=dict)

    class Meta:
        verbose_name_plural = "remembered columns"
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["organisation", "kind", "signature"], name="one_memory_a_table")
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} of {self.organisation}"


class SheetWord(models.Model):
    """What a word of an organisation's tables means: asked once, and remembered."""

    organisation = models.ForeignKey(Organisation, models.CASCADE, related_name="sheet_words")
    kind = models.CharField(max_length=8, choices=SheetKind)
    field = models.CharField(max_length=60)
    text = models.CharField(max_length=200)
    meaning = models.CharField(max_length=60)  # a code of the field, or that it goes to the note

    class Meta:
        verbose_name_plural = "remembered words"
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["organisation", "kind", "field", "text"], name="one_meaning_a_word"
            )
        ]

    def __str__(self) -> str:
        return f"{self.text} of {self.organisation}"

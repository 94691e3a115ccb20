"""Forgetting a person: what they did stays, who they were goes.

The care log and its chain hold a pseudonym only; the name stands beside it, in the person's own row,
which is emptied here. Files of cars handed over, in which the name stands too, are kept no longer.
What else names a person says by its foreign key what becomes of it: CASCADE rows belong to the person
and go, SET_NULL rows let go of them, PROTECT rows are the record and stay. Names that somebody wrote
into a note are covered by the chain and cannot be taken out. A test asks why a new table PROTECTs a person,
and sees that every other is in the file of what is kept about them.
"""

from datetime import date

from django.core.files.storage import default_storage
from django.db import models, transaction
from django.db.models import Q

from collection.models import Countersignature, Handover, Owner, Person, Pseudonym, Units, Witness
from collection.models.handovers import path_of


@transaction.atomic
def forget_person(*, person: Person, today: date) -> None:
    """Empty the rows of a person and of the owner of cars that they are; delete what was theirs alone."""
    for owner in person.owned.all():
        forget_owner(owner=owner)
    for relation in Person._meta.related_objects:
        if relation.on_delete is models.CASCADE:
            relation.related_model._base_manager.filter(**{relation.field.name: person}).delete()
        elif relation.on_delete is models.SET_NULL:
            relation.related_model._base_manager.filter(**{relation.field.name: person}).update(
                **{relation.field.name: None}
            )
    drop_files_naming(person)
    Countersignature.objects.filter(named__name=person.name).update(named=None)
    Witness.objects.filter(to=person.email).delete()
    pseudonym = Pseudonym.objects.filter(person=person).first()
    person.name = f"Deleted person ({str(pseudonym)[:8]})" if pseudonym else "Deleted person"
    person.email = f"forgotten-{person.pk}@forgotten.invalid"
    person.units, person.last_login, person.forgotten_on = Units.METRIC, None, today
    person.is_active = False
    person.set_unusable_password()
    person.full_clean(exclude=["password"])
    person.save()


@transaction.atomic
def forget_owner(*, owner: Owner) -> None:
    """Empty the row of an owner; the cars keep it, so that their history keeps its shape."""
    owner.name = f"Deleted owner ({owner.pk})"
    owner.contact = owner.address = ""
    owner.person = None
    owner.full_clean()
    owner.save()


def drop_files_naming(person: Person) -> None:
    """Keep no longer the files in which somebody stands by name who is to be forgotten."""
    wrote = Q(vehicle__entries__by=person) | Q(vehicle__record_entries__by=person)
    for handover in Handover.objects.filter(wrote).distinct():
        default_storage.delete(path_of(handover.digest))

"""Every form of every page, sent with rows of another organisation in its body: nothing takes hold of them.

The walk of tests/people looks at addresses; here the address is one's own, and the body names others' rows.
"""

import pytest
from django.apps import apps
from django.db import models
from django.forms import BaseForm, CheckboxInput, ChoiceField, ModelChoiceField
from django.test.utils import ContextList

from tests.people import test_permissions as walk

people, rows = walk.people, walk.rows  # its fixtures

# a row's own kind by the kind of the walk; a field whose name says so takes its number too
KINDS = {"car": "Vehicle", "bay": "Bay", "building": "Building", "site": "Site", "owner": "Owner"}
KINDS |= {"climate": "Climate", "member": "Membership", "person": "Person", "invitation": "Invitation"}
HINTS = {"vehicle": "Vehicle", "start": "Building", "end": "Building", "people": "Person", "to_bay": "Bay"}
HINTS |= {"blocked_by": "Bay", "place": "Bay", "sites": "Site", "cars": "Vehicle", "by": "Person"} | KINDS
SKIPPED = ("mfa_", "account_", "usersessions_")  # one's own sign-in: no row of others has a field there


def forms_of(answer):
    """Every form that a page was drawn with."""
    if not answer.context:
        return []
    layers = answer.context if isinstance(answer.context, ContextList) else [answer.context]
    dicts = [part for layer in layers for part in getattr(layer, "dicts", [layer])]
    values = [value for part in dicts for value in part.values()]
    flat = [each for value in values for each in (value if isinstance(value, list | tuple) else [value])]
    return list({id(form): form for form in flat if isinstance(form, BaseForm)}.values())


def body_of(form, theirs):
    """What the form would send, with a foreign row in every field that can name one; whether any can."""
    sent, named = {}, False
    for name, field in form.fields.items():
        key, initial = form.add_prefix(name), form.get_initial_for_field(field, name)
        foreign = theirs.get(row_of(name, field))
        if foreign is not None:
            sent[key], named = [foreign], True
        elif isinstance(field.widget, CheckboxInput):
            sent |= {key: "on"} if initial else {}
        elif not isinstance(initial, list | tuple | models.QuerySet):
            sent[key] = "" if initial is None else getattr(initial, "pk", initial)
    return sent, named


def row_of(name, field):
    """Which model a field names a row of; None for one that names none."""
    if isinstance(field, ModelChoiceField):
        return field.queryset.model.__name__
    last = name.rpartition("-")[2]
    return HINTS.get(last) if isinstance(field, ChoiceField) or last in HINTS else None


def holds():
    """How many rows of each organisation's own point at rows of another: by table, field and target."""
    foreign_keys = {}
    for model in apps.get_app_config("collection").get_models(include_auto_created=True):
        for field in model._meta.concrete_fields:
            if isinstance(field, models.ForeignKey):
                for pk, to in model._base_manager.filter(**{f"{field.name}__isnull": False}).values_list(
                    "pk", field.attname
                ):
                    foreign_keys.setdefault((field.related_model.__name__, to), set()).add(
                        (model.__name__, pk, field.name)
                    )
    return foreign_keys


@pytest.mark.parametrize("person", ["manager", "keeper"])
def test_no_form_takes_hold_of_a_row_of_another_organisation(client_as, people, rows, person):
    theirs = {KINDS[kind]: row.pk for kind, row in rows["foreign"].items() if kind in KINDS}
    before, client, sent_with_rows = holds(), client_as(people[person]), 0
    for name, (capability, _kind) in walk.ADDRESSES.items():
        if name.startswith(SKIPPED) or capability not in walk.MAY[walk.PEOPLE[person][0]]:
            continue
        for url in walk.addresses(name, rows["own"])[:3]:
            page = client.get(url)
            if page.streaming:
                b"".join(page.streaming_content)
            for form in forms_of(page) if page.status_code == 200 and not page.streaming else ():
                body, named = body_of(form, theirs)
                sent_with_rows += named
                for what in ("", "role", "organisation", "save") if named else ():
                    answer = client.post(url, body | {"what": what})
                    assert answer.status_code < 500, (url, body)
    after = holds()
    for target in theirs.items():
        assert after.get(target) == before.get(target), target
    assert sent_with_rows > 5, "the walk finds forms that name rows"


def test_a_phone_cannot_write_for_a_car_of_others(client_as, people, rows):
    entry = {"key": "k" * 36, "car": rows["foreign"]["car"].pk, "kind": "note", "note": "x", "bay": 1}
    sent = {"person": people["keeper"].pk, "organisation": people["keeper"].memberships.get().organisation_id}
    before = rows["foreign"]["car"].entries.count()
    address = walk.addresses("worksheet_entries", rows["own"])[0]
    answer = client_as(people["keeper"]).post(address, sent | {"entries": [entry]}, "application/json")
    assert answer.status_code < 500
    assert rows["foreign"]["car"].entries.count() == before

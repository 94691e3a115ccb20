"""What is set for organisations and sites, and evidence of cars, stand in chains: written down now, as it is."""

import django.db.models.deletion
import uuid
from django.conf import settings
from django.db import migrations, models
from django.utils import timezone

from collection.migrations.frozen.links import NOTHING_BEFORE, car_facts
from collection.migrations.frozen.settings import (
    evidence_facts,
    next_link,
    of_organisation,
    of_site,
    opening_settings,
    setting_facts,
)
from collection.models.append_only import guard, unguard

GUARDED = ("collection_chain", "collection_link", "collection_evidence", "collection_settingentry")


def unguard_evidence(apps, schema_editor):
    """Each row of evidence is given its link once."""
    unguard(schema_editor, ["collection_evidence"])


def guard_all(apps, schema_editor):
    """SQLite forgot the guards of tables that were written anew."""
    guard(schema_editor, GUARDED)


def write_settings(apps, schema_editor):
    """One entry for each organisation with anything set, and for each site."""
    for organisation in apps.get_model("collection", "Organisation").objects.order_by("pk"):
        facts = opening_settings(of_organisation(apps, organisation))
        if facts:
            _write(apps, organisation, "organisation", organisation.name, facts)
    for site in apps.get_model("collection", "Site").objects.select_related("climate").order_by("pk"):
        _write(apps, site.organisation, f"site.{site.pk}", site.name, opening_settings(of_site(apps, site)))
    schema_editor.connection.check_constraints()  # PostgreSQL alters no table with checks still to come


def _write(apps, organisation, subject, name, facts):
    chain = apps.get_model("collection", "Chain").objects.create(organisation=organisation, subject=subject)
    now = _now(apps, organisation)
    entry = apps.get_model("collection", "SettingEntry")(
        chain=chain, done_at=now, recorded_at=now, facts=facts, opening=True
    )
    of = {"of": subject, "name": name}
    entry.link = _link(apps, chain, setting_facts(entry), of)
    entry.save()


def _now(apps, organisation):
    """The clock may stand behind statements."""
    stated = apps.get_model("collection", "Anchor").objects.filter(organisation=organisation)
    return max([timezone.now(), *stated.values_list("at", flat=True)])


def chain_evidence(apps, schema_editor):
    """Each row with when it was written down, and now; but not of cars whose chain goes on with another keeper."""
    chain, pseudonym = (apps.get_model("collection", name) for name in ("Chain", "Pseudonym"))
    rows = apps.get_model("collection", "Evidence").objects.select_related("vehicle")
    for row in rows.order_by("recorded_at", "pk"):
        car = row.vehicle
        if car.left_on and car.handovers.filter(organisation=car.organisation_id).exists():
            continue
        by = str(pseudonym.objects.get_or_create(person_id=row.by_id)[0].token)
        own, _ = chain.objects.get_or_create(vehicle=car)
        row.chained_at = _now(apps, car.organisation)
        row.link = _link(apps, own, evidence_facts(row, by=by), car_facts(car))
        row.save(update_fields=["link", "chained_at"])
    schema_editor.connection.check_constraints()


def _link(apps, chain, facts, of):
    link = apps.get_model("collection", "Link").objects
    last = link.filter(chain=chain).order_by("-seq").first()
    seq, previous = (last.seq, last.digest) if last else (0, NOTHING_BEFORE)
    made = next_link(str(chain.pk), facts, of=of, seq=seq + 1, previous=previous)
    return link.create(chain=chain, **made | {"entry": None})


class Migration(migrations.Migration):
    dependencies = [("collection", "0025_one_money")]

    operations = [
        migrations.AlterField(
            "chain",
            "vehicle",
            models.OneToOneField(
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="chain",
                to="collection.vehicle",
            ),
        ),
        migrations.AddField(
            "chain",
            "organisation",
            models.ForeignKey(
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="setting_chains",
                to="collection.organisation",
            ),
        ),
        migrations.AddField("chain", "subject", models.CharField(blank=True, default="", max_length=30), False),
        migrations.AddConstraint(
            "chain",
            models.UniqueConstraint(fields=["organisation", "subject"], name="one_chain_a_subject"),
        ),
        migrations.AddConstraint(
            "chain",
            models.CheckConstraint(
                condition=models.Q(
                    ("organisation__isnull", True), ("subject", ""), ("vehicle__isnull", False)
                )
                | (
                    models.Q(("organisation__isnull", False), ("vehicle__isnull", True))
                    & ~models.Q(("subject", ""))
                ),
                name="chain_of_a_car_or_of_settings",
            ),
        ),
        migrations.CreateModel(
            name="SettingEntry",
            fields=[
                (
                    "id",
                    models.UUIDField(default=uuid.uuid4, editable=False, primary_key=True, serialize=False),
                ),
                ("done_at", models.DateTimeField()),
                ("recorded_at", models.DateTimeField()),
                ("facts", models.JSONField(default=dict)),
                ("opening", models.BooleanField(default=False)),
                (
                    "by",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="setting_entries",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "chain",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="setting_entries",
                        to="collection.chain",
                    ),
                ),
                (
                    "link",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="setting",
                        to="collection.link",
                    ),
                ),
            ],
            options={"ordering": ["link__seq"], "verbose_name_plural": "setting entries"},
        ),
        migrations.AddField(
            "evidence",
            "grade",
            models.PositiveSmallIntegerField(
                "how it is known",
                blank=True,
                null=True,
                choices=[
                    (1, "A document made at the time by a third party"),
                    (2, "A record made at the time, with a reading or photo"),
                    (3, "A statement made later"),
                    (4, "Inferred from the car"),
                ],
            ),
        ),
        migrations.AddField(
            "evidence",
            "document",
            models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="evidence",
                to="collection.attachment",
            ),
        ),
        migrations.AddField("evidence", "chained_at", models.DateTimeField(blank=True, null=True)),
        migrations.AddField(
            "evidence",
            "link",
            models.OneToOneField(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="evidence",
                to="collection.link",
            ),
        ),
        migrations.RunPython(unguard_evidence, migrations.RunPython.noop),
        migrations.RunPython(write_settings, migrations.RunPython.noop),
        migrations.RunPython(chain_evidence, migrations.RunPython.noop),
        migrations.RunPython(guard_all, migrations.RunPython.noop),
    ]

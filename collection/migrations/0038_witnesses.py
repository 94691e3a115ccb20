import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("collection", "0037_notes_of_shifts"),
    ]

    operations = [
        migrations.CreateModel(
            name="BroughtStamp",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("statement", models.CharField(max_length=64)),
                ("at", models.DateTimeField()),
                ("response", models.TextField()),
                (
                    "chain",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="brought_stamps",
                        to="collection.chain",
                    ),
                ),
            ],
        ),
        migrations.CreateModel(
            name="Countersignature",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("seq", models.PositiveIntegerField()),
                ("at", models.DateTimeField()),
                ("statement", models.JSONField()),
                ("signature", models.CharField(max_length=1024)),
                ("named", models.JSONField(null=True)),
                ("passkey", models.JSONField(null=True)),
                (
                    "chain",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="countersignatures",
                        to="collection.chain",
                    ),
                ),
            ],
            options={
                "ordering": ["chain", "seq", "at", "pk"],
            },
        ),
        migrations.CreateModel(
            name="Witness",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "kind",
                    models.CharField(
                        choices=[("authority", "Time-stamp authority"), ("mail", "Mail")], max_length=10
                    ),
                ),
                ("to", models.CharField(max_length=400)),
                ("name", models.CharField(max_length=80, verbose_name="who it is")),
                ("made_at", models.DateTimeField()),
                ("ended_at", models.DateTimeField(blank=True, null=True)),
                ("tries", models.PositiveSmallIntegerField(default=0)),
                ("next_at", models.DateTimeField()),
                ("failing_since", models.DateTimeField(blank=True, null=True)),
                ("failure", models.CharField(blank=True, max_length=200)),
                (
                    "made_by",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.SET_NULL,
                        related_name="witnesses",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "organisation",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="witnesses",
                        to="collection.organisation",
                    ),
                ),
            ],
            options={
                "verbose_name_plural": "witnesses",
                "ordering": ["kind", "name", "pk"],
            },
        ),
        migrations.CreateModel(
            name="Witnessed",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("at", models.DateTimeField()),
                ("response", models.TextField(blank=True)),
                (
                    "anchor",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="witnessed",
                        to="collection.anchor",
                    ),
                ),
                (
                    "witness",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="witnessed",
                        to="collection.witness",
                    ),
                ),
            ],
            options={
                "verbose_name_plural": "witnessed statements",
                "ordering": ["at", "pk"],
                "constraints": [
                    models.UniqueConstraint(
                        fields=("witness", "anchor"), name="each_statement_once_a_witness"
                    )
                ],
            },
        ),
    ]

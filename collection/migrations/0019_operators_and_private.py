"""Operators, invitations, sign-ins; room for sealed notes, grants of keys and a log of showings."""

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models

PERSON = settings.AUTH_USER_MODEL
CASCADE, SET_NULL = django.db.models.deletion.CASCADE, django.db.models.deletion.SET_NULL
ROLES = [("manager", "Manager"), ("staff", "Staff"), ("owner", "Owner"), ("viewer", "Viewer")]


def key():
    return ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID"))


class Migration(migrations.Migration):
    dependencies = [("collection", "0018_rehearsals")]

    operations = [
        migrations.CreateModel(
            "Operator",
            [
                key(),
                ("given_at", models.DateTimeField()),
                ("ended_at", models.DateTimeField(blank=True, null=True)),
                ("ended_by", models.ForeignKey(blank=True, null=True, on_delete=SET_NULL, related_name="+", to=PERSON)),
                ("given_by", models.ForeignKey(blank=True, null=True, on_delete=SET_NULL, related_name="+", to=PERSON)),
                ("person", models.ForeignKey(on_delete=CASCADE, related_name="operator_grants", to=PERSON)),
            ],
            {
                "ordering": ["given_at", "pk"],
                "constraints": [
                    models.UniqueConstraint(
                        condition=models.Q(("ended_at__isnull", True)),
                        fields=("person",),
                        name="operator_once",
                        violation_error_message="They are an operator already.",
                    )
                ],
            },
        ),
        migrations.CreateModel(
            "Invitation",
            [
                key(),
                ("email", models.EmailField(max_length=254, verbose_name="e-mail address")),
                ("role", models.CharField(choices=ROLES, max_length=10)),
                ("digest", models.CharField(max_length=64, unique=True)),
                ("made_at", models.DateTimeField()),
                ("expires_at", models.DateTimeField()),
                ("ended_at", models.DateTimeField(blank=True, null=True)),
                (
                    "accepted_by",
                    models.ForeignKey(
                        blank=True, null=True, on_delete=CASCADE, related_name="invitations", to=PERSON
                    ),
                ),
                ("by", models.ForeignKey(null=True, on_delete=SET_NULL, related_name="+", to=PERSON)),
                (
                    "organisation",
                    models.ForeignKey(
                        on_delete=CASCADE, related_name="invitations", to="collection.organisation"
                    ),
                ),
                (
                    "sites",
                    models.ManyToManyField(
                        blank=True, related_name="+", to="collection.site", verbose_name="keys at"
                    ),
                ),
            ],
            {"ordering": ["-made_at", "-pk"]},
        ),
        migrations.CreateModel(
            "SignIn",
            [
                key(),
                ("at", models.DateTimeField()),
                ("device", models.CharField(max_length=64)),
                ("network", models.CharField(blank=True, max_length=45)),
                ("browser", models.CharField(blank=True, max_length=200)),
                ("new_device", models.BooleanField(default=False)),
                ("new_network", models.BooleanField(default=False)),
                ("person", models.ForeignKey(on_delete=CASCADE, related_name="sign_ins", to=PERSON)),
            ],
            {"verbose_name": "sign-in", "ordering": ["-at", "-pk"]},
        ),
        migrations.CreateModel(
            "KeyGrant",
            [
                key(),
                ("given_at", models.DateTimeField(null=True)),
                ("given_by", models.ForeignKey(null=True, on_delete=SET_NULL, related_name="+", to=PERSON)),
                (
                    "membership",
                    models.ForeignKey(
                        on_delete=CASCADE, related_name="key_grants", to="collection.membership"
                    ),
                ),
                (
                    "site",
                    models.ForeignKey(on_delete=CASCADE, related_name="key_grants", to="collection.site"),
                ),
            ],
            {
                "constraints": [
                    models.UniqueConstraint(fields=("membership", "site"), name="one_key_grant_a_site")
                ]
            },
        ),
        migrations.CreateModel(
            "PrivateShowing",
            [
                key(),
                (
                    "what",
                    models.CharField(
                        choices=[
                            ("shown", "shown"),
                            ("written", "written down"),
                            ("released", "released to another site"),
                        ],
                        max_length=10,
                    ),
                ),
                ("at", models.DateTimeField()),
                (
                    "organisation",
                    models.ForeignKey(
                        on_delete=CASCADE, related_name="private_showings", to="collection.organisation"
                    ),
                ),
                (
                    "person",
                    models.ForeignKey(
                        null=True, on_delete=SET_NULL, related_name="private_showings", to=PERSON
                    ),
                ),
                (
                    "site",
                    models.ForeignKey(
                        null=True, on_delete=SET_NULL, related_name="private_showings", to="collection.site"
                    ),
                ),
                (
                    "vehicle",
                    models.ForeignKey(
                        null=True, on_delete=CASCADE, related_name="private_showings", to="collection.vehicle"
                    ),
                ),
            ],
            {"ordering": ["-at", "-pk"]},
        ),
        migrations.AddField(
            "carnotes", "sealed", models.TextField(default="", editable=False), preserve_default=False
        ),
        migrations.AddField(
            "carnotes",
            "site",
            models.ForeignKey(null=True, on_delete=SET_NULL, related_name="car_notes", to="collection.site"),
        ),
        migrations.AddField(
            "sitenotes", "sealed", models.TextField(default="", editable=False), preserve_default=False
        ),
    ]

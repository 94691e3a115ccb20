"""Organisations are walls; people are members of them in a role."""

from typing import TYPE_CHECKING, Any, ClassVar

from django.contrib.auth.base_user import AbstractBaseUser, BaseUserManager
from django.db import models
from django.utils.functional import cached_property

from collection.models.organisations import Organisation

if TYPE_CHECKING:
    from collection.models.places import Site


class PersonManager(BaseUserManager["Person"]):
    """Makes people whose e-mail address is their sign-in."""

    def create_user(self, email: str, password: str | None = None, **extra: Any) -> "Person":
        """A person without any rights yet."""
        person = self.model(email=self.normalize_email(email).lower(), **extra)
        person.set_password(password)
        person.save(using=self._db)
        return person


class Units(models.TextChoices):
    """What a person reads and types; inside everything is SI."""

    METRIC = "metric", "°C, bar, km, litres"
    BRITISH = "british", "°C, psi, miles, litres"
    AMERICAN = "american", "°F, psi, miles, US gallons"


class Person(AbstractBaseUser):
    """Somebody who signs in."""

    email = models.EmailField("e-mail address", unique=True)
    name = models.CharField(max_length=120)
    units = models.CharField(max_length=10, choices=Units, default=Units.METRIC)
    is_active = models.BooleanField("may sign in", default=True)
    forgotten_on = models.DateField(null=True, blank=True, editable=False)

    objects = PersonManager()

    USERNAME_FIELD = "email"
    REQUIRED_FIELDS: ClassVar[list[str]] = ["name"]

    class Meta:
        verbose_name_plural = "people"

    def __str__(self) -> str:
        return self.name or self.email

    @cached_property
    def is_operator(self) -> bool:
        """Whether they run the installation; asked once a request."""
        return self.is_active and self.operator_grants.filter(ended_at__isnull=True).exists()

    @property
    def is_staff(self) -> bool:
        """The name under which Django's admin pages ask for it."""
        return self.is_operator

    def has_perm(self, perm: str, obj: object = None) -> bool:  # noqa: ARG002 - Django's own signature
        """As above: operators may do all that the admin pages offer, nobody else anything."""
        return self.is_operator

    def has_module_perms(self, app_label: str) -> bool:  # noqa: ARG002 - Django's own signature
        """As above."""
        return self.is_operator


class Operator(models.Model):
    """A grant to run the installation, with its end: sign-ins and organisations, none of their records.

    Without ``given_by`` it was given at the machine itself.
    """

    person = models.ForeignKey(Person, models.CASCADE, related_name="operator_grants")
    given_at = models.DateTimeField()
    given_by = models.ForeignKey(Person, models.SET_NULL, null=True, blank=True, related_name="+")
    ended_at = models.DateTimeField(null=True, blank=True)
    ended_by = models.ForeignKey(Person, models.SET_NULL, null=True, blank=True, related_name="+")

    class Meta:
        ordering: ClassVar = ["given_at", "pk"]
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["person"],
                condition=models.Q(ended_at__isnull=True),
                name="operator_once",
                violation_error_message="They are an operator already.",
            )
        ]

    def __str__(self) -> str:
        return str(self.person)


class Role(models.TextChoices):
    """What a member may do; decided in collection.permissions and nowhere else."""

    MANAGER = "manager", "Manager"
    STAFF = "staff", "Staff"
    OWNER = "owner", "Owner"
    VIEWER = "viewer", "Viewer"


class Membership(models.Model):
    """A person's role in an organisation, and for staff the sites whose keys they may ask for."""

    person = models.ForeignKey(Person, models.CASCADE, related_name="memberships")
    organisation = models.ForeignKey(Organisation, models.CASCADE, related_name="memberships")
    role = models.CharField(max_length=10, choices=Role)
    sites: "models.ManyToManyField[Site, models.Model]" = models.ManyToManyField(
        "Site", through="KeyGrant", related_name="staff", verbose_name="keys at"
    )

    class Meta:
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["person", "organisation"], name="one_role_an_organisation")
        ]

    def __str__(self) -> str:
        return f"{self.person}, {self.get_role_display()} at {self.organisation}"


class Owner(models.Model):
    """Whose car it is; may or may not sign in."""

    organisation = models.ForeignKey(Organisation, models.PROTECT, related_name="owners")
    name = models.CharField(max_length=120)
    contact = models.CharField(max_length=200, blank=True, help_text="Telephone or e-mail.")
    address = models.TextField(max_length=400, blank=True)
    person = models.ForeignKey(
        Person, models.SET_NULL, null=True, blank=True, related_name="owned", verbose_name="sign-in"
    )

    class Meta:
        ordering: ClassVar = ["name"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["organisation", "name"], name="one_owner_of_a_name")
        ]

    def __str__(self) -> str:
        return self.name


class Threshold(models.Model):
    """An organisation's own value for one of our thresholds, with its reason."""

    organisation = models.ForeignKey(Organisation, models.CASCADE, related_name="thresholds")
    name = models.CharField(max_length=60)
    value = models.FloatField()
    reason = models.CharField(max_length=200, blank=True)

    class Meta:
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["organisation", "name"], name="one_value_a_threshold")
        ]

    def __str__(self) -> str:
        return f"{self.name} = {self.value:g}"

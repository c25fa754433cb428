"""Who works with Fanlight: organisations, their clients, people and what each may do."""

from __future__ import annotations

import uuid
from typing import Any, ClassVar

from django.contrib.auth.base_user import BaseUserManager
from django.contrib.auth.models import AbstractUser
from django.db import models
from django.db.models import F, Q

from campaigns.models.addresses import AddressField, normal_address
from campaigns.models.base import Record


class UserManager(BaseUserManager["User"]):
    def create_user(self, email: str, password: str | None = None, **extra: Any) -> User:
        user = self.model(email=normal_address(email), **extra)
        user.set_password(password)
        user.save(using=self._db)
        return user

    def create_superuser(self, email: str, password: str | None = None, **extra: Any) -> User:
        return self.create_user(email, password, is_staff=True, is_superuser=True, **extra)

    def get_by_natural_key(self, username: str | None) -> User:
        """Where several houses know the address: the operator's own account, else the oldest."""
        found = self.filter(email=username or "").order_by(F("house").asc(nulls_first=True), "pk").first()
        if found is None:
            raise self.model.DoesNotExist
        return found


class User(AbstractUser):
    """A person's account, known by e-mail address.

    It belongs to the ``house`` that made it, which hands out its password links: each house has an account of its own
    for the same address, so none can come into another by one, nor learn that there is one. Without a house it is the
    operator's. ``key``: what stands for it in links.
    """

    username = None  # type: ignore[assignment]
    key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    email = AddressField("e-mail address")
    house = models.ForeignKey(
        "Organisation", on_delete=models.PROTECT, null=True, blank=True, editable=False, related_name="accounts"
    )

    USERNAME_FIELD = "email"
    REQUIRED_FIELDS: ClassVar[list[str]] = []

    objects = UserManager()  # type: ignore[misc,assignment]

    class Meta(AbstractUser.Meta):
        constraints = (
            models.UniqueConstraint(
                fields=("email", "house"),
                name="account_once_in_a_house",
                violation_error_message="This address is already used.",
            ),
            models.UniqueConstraint(
                fields=("email",),
                condition=Q(house__isnull=True),
                name="account_once_without_a_house",
                violation_error_message="This address is already used.",
            ),
        )

    def __str__(self) -> str:
        return self.get_full_name() or self.email


class Organisation(Record):
    """A consultancy. Nothing crosses from one organisation to another."""

    name = models.CharField(max_length=200, unique=True)

    class Meta:
        ordering = ("name",)

    def __str__(self) -> str:
        return self.name


class Client(Record):
    """Who ordered the work: owns sites, reads released findings."""

    list_route: ClassVar[str | None] = "clients"

    organisation = models.ForeignKey(Organisation, on_delete=models.PROTECT, related_name="clients")
    name = models.CharField(max_length=200)

    class Meta:
        ordering = ("name",)
        constraints = (
            models.UniqueConstraint(
                fields=("organisation", "name"),
                name="client_name_once",
                violation_error_message="There is already a client of this name.",
            ),
        )

    def __str__(self) -> str:
        return self.name


class Role(models.TextChoices):
    CONSULTANT = "consultant", "Consultant"
    FIELD = "field", "Field staff"
    CLIENT = "client", "Client"


class Membership(Record):
    """One person's role in one organisation."""

    list_route: ClassVar[str | None] = "people"
    route_word: ClassVar[str] = "person"

    user = models.ForeignKey(User, on_delete=models.CASCADE, related_name="memberships")
    organisation = models.ForeignKey(Organisation, on_delete=models.CASCADE, related_name="memberships")
    role = models.CharField(max_length=20, choices=Role.choices)
    client = models.ForeignKey(
        Client,
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="memberships",
        help_text="For a person of the client: which client. They read released findings of this client only.",
    )

    class Meta:
        ordering = ("user__email",)
        constraints = (
            models.UniqueConstraint(
                fields=("user", "organisation"),
                name="membership_once",
                violation_error_message="This person already has a role in the organisation.",
            ),
            models.CheckConstraint(
                condition=Q(role=Role.CLIENT, client__isnull=False) | (~Q(role=Role.CLIENT) & Q(client__isnull=True)),
                name="membership_client_iff_role_client",
                violation_error_message="Name the client for a person of the client, and only for one.",
            ),
        )

    def __str__(self) -> str:
        return f"{self.user} – {self.get_role_display()}"

    def get_additional_data(self) -> dict[str, int]:
        """For the history, which is asked by organisation when the row is gone."""
        return {"organisation": self.organisation_id}

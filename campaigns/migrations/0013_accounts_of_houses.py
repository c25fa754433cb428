"""Accounts have a key for links and belong to the house that made them; tries of passwords are counted."""

import uuid

import django.db.models.deletion
from django.db import migrations, models

import campaigns.models.addresses


class Migration(migrations.Migration):
    dependencies = [("campaigns", "0012_alert_levels")]

    operations = [
        migrations.CreateModel(
            name="PasswordTry",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("account", models.CharField(max_length=64)),
                ("host", models.CharField(max_length=64)),
                ("at", models.DateTimeField()),
            ],
            options={
                "ordering": ("at",),
                "indexes": [
                    models.Index(fields=["account", "at"], name="try_of_account"),
                    models.Index(fields=["host", "at"], name="try_of_host"),
                    models.Index(fields=["at"], name="try_at"),
                ],
            },
        ),
        migrations.AddField("user", "key", models.UUIDField(default=uuid.uuid4, editable=False, null=True)),
        migrations.AddField(
            "user",
            "house",
            models.ForeignKey(
                blank=True,
                editable=False,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="accounts",
                to="campaigns.organisation",
            ),
        ),
        migrations.AlterField(
            "user",
            "email",
            campaigns.models.addresses.AddressField(max_length=254, verbose_name="e-mail address"),
        ),
    ]

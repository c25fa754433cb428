"""An address is once in a house, and once among the accounts of the operator."""

import uuid

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("campaigns", "0014_accounts_of_houses_filled")]

    operations = [
        migrations.AlterField("user", "key", models.UUIDField(default=uuid.uuid4, editable=False, unique=True)),
        migrations.AddConstraint(
            "user",
            models.UniqueConstraint(
                fields=("email", "house"),
                name="account_once_in_a_house",
                violation_error_message="This address is already used.",
            ),
        ),
        migrations.AddConstraint(
            "user",
            models.UniqueConstraint(
                condition=models.Q(("house__isnull", True)),
                fields=("email",),
                name="account_once_without_a_house",
                violation_error_message="This address is already used.",
            ),
        ),
    ]

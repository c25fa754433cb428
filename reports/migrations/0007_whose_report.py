"""A report keeps its client, the signer's qualification apart from the name, and the digest of its PDF."""

import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("reports", "0006_agreements"), ("campaigns", "0015_accounts_once_in_a_house")]

    operations = [
        migrations.AddField(
            "report",
            "client",
            models.ForeignKey(
                blank=True,
                help_text="Whom it was released to. It stays theirs when the site gets another client.",
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="reports",
                to="campaigns.client",
            ),
        ),
        migrations.AddField(
            "report",
            "signed_qualification",
            models.CharField(
                blank=True,
                default="",
                help_text="As the person states it; stands behind the name.",
                max_length=200,
                verbose_name="qualification",
            ),
            preserve_default=False,
        ),
        migrations.AlterField(
            "report",
            "signed_name",
            models.CharField(help_text="The name of the account that signed.", max_length=310),
        ),
        migrations.AddField(
            "report",
            "pdf_sha256",
            models.CharField(blank=True, default="", max_length=64, verbose_name="SHA-256 of the PDF"),
            preserve_default=False,
        ),
    ]

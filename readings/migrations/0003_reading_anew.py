"""A file can be read another way: what was stored from it is set aside, and the same bytes are another upload."""

from __future__ import annotations

import uuid

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("campaigns", "0001_initial"),
        ("readings", "0002_envelopes_as_they_are"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.RemoveConstraint(model_name="upload", name="upload_once"),
        migrations.AddField("upload", "asides", models.PositiveIntegerField(
            default=0, editable=False, help_text="How often readings of it were set aside or came back.",
        )),
        migrations.AddField("upload", "reads_anew", models.ForeignKey(
            editable=False, null=True, on_delete=django.db.models.deletion.PROTECT, related_name="read_anew_as",
            to="readings.upload",
        )),
        migrations.AlterField("upload", "state", models.CharField(
            choices=[
                ("received", "received"), ("read", "read"), ("attention", "needs attention"),
                ("unreadable", "cannot be read"), ("withdrawn", "withdrawn"),
            ],
            default="received", max_length=12,
        )),
        migrations.AddConstraint("upload", models.UniqueConstraint(
            condition=models.Q(("state", "withdrawn"), _negated=True), fields=("campaign", "instrument", "sha256"),
            name="upload_once",
            violation_error_message="This file is already here, as one of this instrument.",
        )),
        migrations.AddConstraint("upload", models.UniqueConstraint(
            condition=models.Q(("instrument__isnull", True), models.Q(("state", "withdrawn"), _negated=True)),
            fields=("campaign", "sha256"), name="upload_once_without_instrument",
            violation_error_message="This file is already here.",
        )),
        migrations.CreateModel(
            name="SettingAside",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("key", models.UUIDField(default=uuid.uuid4, editable=False, unique=True)),
                ("created_at", models.DateTimeField(auto_now_add=True)),
                ("first_stamp_ms", models.BigIntegerField(blank=True, null=True, verbose_name="from")),
                ("last_stamp_ms", models.BigIntegerField(blank=True, null=True, verbose_name="to")),
                ("reason", models.CharField(
                    help_text="What was wrong, for those who look at it later.", max_length=300,
                )),
                ("count", models.BigIntegerField(default=0, editable=False, verbose_name="readings")),
                ("done_at", models.DateTimeField(
                    editable=False, help_text="Empty while readings of the file still wait for it.", null=True,
                    verbose_name="all set aside",
                )),
                ("taken_back_at", models.DateTimeField(editable=False, null=True, verbose_name="taken back")),
                ("by", models.ForeignKey(
                    null=True, on_delete=django.db.models.deletion.SET_NULL, related_name="settings_aside",
                    to=settings.AUTH_USER_MODEL,
                )),
                ("channel", models.ForeignKey(
                    blank=True, null=True, on_delete=django.db.models.deletion.PROTECT,
                    related_name="settings_aside", to="campaigns.channel",
                )),
                ("organisation", models.ForeignKey(
                    on_delete=django.db.models.deletion.CASCADE, related_name="settings_aside",
                    to="campaigns.organisation",
                )),
                ("taken_back_by", models.ForeignKey(
                    editable=False, null=True, on_delete=django.db.models.deletion.SET_NULL,
                    related_name="settings_aside_taken_back", to=settings.AUTH_USER_MODEL,
                )),
                ("upload", models.OneToOneField(
                    blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name="set_aside",
                    to="readings.upload", verbose_name="file",
                )),
            ],
            options={
                "verbose_name": "setting aside",
                "verbose_name_plural": "settings aside",
                "ordering": ("-pk",),
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("channel__isnull", True), ("upload__isnull", False)),
                            models.Q(
                                ("channel__isnull", False), ("first_stamp_ms__isnull", False),
                                ("last_stamp_ms__isnull", False), ("upload__isnull", True),
                            ),
                            _connector="OR",
                        ),
                        name="setting_aside_of_one",
                        violation_error_message="Either a file is set aside, or a stretch of one channel.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("last_stamp_ms__gte", models.F("first_stamp_ms")), ("first_stamp_ms__isnull", True),
                            _connector="OR",
                        ),
                        name="setting_aside_first_before_last",
                        violation_error_message="A stretch ends at or after its beginning.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("taken_back_at__isnull", True), ("upload__isnull", True), _connector="OR",
                        ),
                        name="setting_aside_stretch_taken_back",
                        violation_error_message="A file is not taken back, but read in again.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("taken_back_at__isnull", False), ("taken_back_by__isnull", True), _connector="OR",
                        ),
                        name="setting_aside_taken_back_by_with_time",
                        violation_error_message="Who took it back is kept with the time.",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="AsideReading",
            fields=[
                ("pk", models.CompositePrimaryKey(
                    "setting_aside_id", "channel_id", "stamp", "nth", blank=True, editable=False, primary_key=True,
                    serialize=False,
                )),
                ("stamp", models.BigIntegerField()),
                ("nth", models.SmallIntegerField()),
                ("raw", models.FloatField(null=True)),
                ("flag", models.SmallIntegerField(default=0)),
                ("line", models.IntegerField()),
                ("channel", models.ForeignKey(
                    db_constraint=False, db_index=False, on_delete=django.db.models.deletion.DO_NOTHING,
                    related_name="aside_readings", to="campaigns.channel",
                )),
                ("setting_aside", models.ForeignKey(
                    db_constraint=False, db_index=False, on_delete=django.db.models.deletion.DO_NOTHING,
                    related_name="readings", to="readings.settingaside",
                )),
                ("upload", models.ForeignKey(
                    db_constraint=False, db_index=False, on_delete=django.db.models.deletion.DO_NOTHING,
                    related_name="aside_readings", to="readings.upload",
                )),
            ],
        ),
    ]  # fmt: skip

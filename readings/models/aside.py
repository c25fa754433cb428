"""What does not count: a reading-in of a file, or a stretch of one channel; and the readings it holds."""

from __future__ import annotations

from django.db import models
from django.db.models import F, Q

from campaigns.models import Channel, Organisation, Record, User
from readings.models.uploads import Upload


class SettingAside(Record):
    """The decision of a person that some readings do not count: all of one upload, or a stretch of one channel.

    Nothing is deleted: the readings are kept as they were, with who set them aside, when and why. A stretch reaches
    from ``first_stamp_ms`` to ``last_stamp_ms`` of the logger's clock, both included; what comes later of it, by
    another download of the same memory, is set aside with it. A stretch can be taken back; an upload is read in again
    instead, as another one.
    """

    organisation = models.ForeignKey(Organisation, on_delete=models.CASCADE, related_name="settings_aside")
    upload = models.OneToOneField(
        Upload, on_delete=models.PROTECT, null=True, blank=True, related_name="set_aside", verbose_name="file"
    )
    channel = models.ForeignKey(Channel, on_delete=models.PROTECT, null=True, blank=True, related_name="settings_aside")
    first_stamp_ms = models.BigIntegerField("from", null=True, blank=True)
    last_stamp_ms = models.BigIntegerField("to", null=True, blank=True)
    reason = models.CharField(max_length=300, help_text="What was wrong, for those who look at it later.")
    by = models.ForeignKey(User, on_delete=models.SET_NULL, null=True, related_name="settings_aside")
    count = models.BigIntegerField("readings", default=0, editable=False)
    done_at = models.DateTimeField(
        "all set aside", null=True, editable=False, help_text="Empty while readings of the file still wait for it."
    )
    taken_back_at = models.DateTimeField("taken back", null=True, editable=False)
    taken_back_by = models.ForeignKey(
        User, on_delete=models.SET_NULL, null=True, editable=False, related_name="settings_aside_taken_back"
    )

    class Meta:
        verbose_name = "setting aside"
        verbose_name_plural = "settings aside"
        ordering = ("-pk",)
        constraints = (
            models.CheckConstraint(
                condition=Q(upload__isnull=False, channel__isnull=True)
                | Q(
                    upload__isnull=True, channel__isnull=False, first_stamp_ms__isnull=False,
                    last_stamp_ms__isnull=False,
                ),
                name="setting_aside_of_one",
                violation_error_message="Either a file is set aside, or a stretch of one channel.",
            ),
            models.CheckConstraint(
                condition=Q(last_stamp_ms__gte=F("first_stamp_ms")) | Q(first_stamp_ms__isnull=True),
                name="setting_aside_first_before_last",
                violation_error_message="A stretch ends at or after its beginning.",
            ),
            models.CheckConstraint(
                condition=Q(taken_back_at__isnull=True) | Q(upload__isnull=True),
                name="setting_aside_stretch_taken_back",
                violation_error_message="A file is not taken back, but read in again.",
            ),
            models.CheckConstraint(
                condition=Q(taken_back_at__isnull=False) | Q(taken_back_by__isnull=True),
                name="setting_aside_taken_back_by_with_time",
                violation_error_message="Who took it back is kept with the time.",
            ),
        )  # fmt: skip

    def __str__(self) -> str:
        return self.reason


class AsideReading(models.Model):
    """A reading that was set aside: as it was stored, in every value, and outside the table of those that count.

    It stands under the decision that took it away, so that its key is free for what a file is read to say another
    way. Written by ``readings.store`` alone, which moves readings here and back.
    """

    pk = models.CompositePrimaryKey("setting_aside_id", "channel_id", "stamp", "nth")
    setting_aside = models.ForeignKey(
        SettingAside, on_delete=models.DO_NOTHING, db_index=False, db_constraint=False, related_name="readings"
    )
    channel = models.ForeignKey(
        Channel, on_delete=models.DO_NOTHING, db_index=False, db_constraint=False, related_name="aside_readings"
    )
    stamp = models.BigIntegerField()
    nth = models.SmallIntegerField()
    raw = models.FloatField(null=True)
    flag = models.SmallIntegerField(default=0)
    upload = models.ForeignKey(
        Upload, on_delete=models.DO_NOTHING, db_index=False, db_constraint=False, related_name="aside_readings"
    )
    line = models.IntegerField()

    def __str__(self) -> str:
        return f"{self.raw} ({self.upload_id}:{self.line})"

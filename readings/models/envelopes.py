"""The envelope of the readings that came in one chunk of a file."""

from __future__ import annotations

from django.db import models

from campaigns.models import Channel
from readings.models.uploads import Upload


class Envelope(models.Model):
    """Of one channel's readings that were stored together, how low and how high they went, 64 by 64.

    Written with them, in one transaction: no reading lies outside the envelopes of its channel and upload.
    parts: ``block_summary.PART``, one after the other.
    Foreign keys are not checked, as with readings. Where readings are set aside, or come back, the envelopes over them
    are made anew.
    """

    channel = models.ForeignKey(
        Channel, on_delete=models.DO_NOTHING, db_index=False, db_constraint=False, related_name="envelopes"
    )
    upload = models.ForeignKey(
        Upload, on_delete=models.DO_NOTHING, db_index=False, db_constraint=False, related_name="envelopes"
    )
    first_stamp = models.BigIntegerField()
    last_stamp = models.BigIntegerField()
    count = models.BigIntegerField()
    parts = models.BinaryField()

    class Meta:
        indexes = (models.Index(fields=["channel", "first_stamp"], name="envelopes_of_channel"),)
        constraints = (
            models.CheckConstraint(
                condition=models.Q(last_stamp__gte=models.F("first_stamp")),
                name="envelope_first_before_last",
                violation_error_message="The last stamp of an envelope is not before the first.",
            ),
            models.CheckConstraint(
                condition=models.Q(count__gt=0),
                name="envelope_of_readings",
                violation_error_message="There is no envelope of no readings.",
            ),
        )

    def __str__(self) -> str:
        return f"{self.count} readings from {self.first_stamp} to {self.last_stamp}"

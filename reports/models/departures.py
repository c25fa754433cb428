"""Why a report may be released although it departs from what was agreed with the client."""

from __future__ import annotations

from django.db import models

from campaigns.models import Campaign, Record, User


class AgreementDeparture(Record):
    """What a person says who releases a report that departs from what was agreed before the visit: why.

    It holds for ``departures`` as they were listed; others are asked about anew. The report prints it.
    """

    campaign = models.ForeignKey(Campaign, on_delete=models.CASCADE, related_name="departures")
    departures = models.TextField()
    reason = models.CharField("why it is released all the same", max_length=300)
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ("pk",)

    def __str__(self) -> str:
        return self.reason

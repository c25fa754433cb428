"""Which campaigns a log feeds."""

from __future__ import annotations

from django.db.models import Q, QuerySet

from campaigns.models import Campaign
from readings.models import Upload


def fed_by(uploads: QuerySet[Upload]) -> list[int]:
    """Ids of campaigns that may be judged differently when these files, or how they are understood, change: where they
    were handed in, and all in which their instruments stood."""
    files = list(uploads.values_list("campaign", "instrument"))
    touched = Q(pk__in={campaign for campaign, _ in files})
    touched |= Q(deployments__instrument__in={instrument for _, instrument in files if instrument})
    return sorted(Campaign.objects.filter(touched).values_list("pk", flat=True).distinct()) if files else []

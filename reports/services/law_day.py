"""The day by whose law a campaign is judged: the last on which it measured."""

from __future__ import annotations

from collections.abc import Collection
from datetime import date

from campaigns.models import Campaign, Deployment
from campaigns.models.limits import today


def law_day(campaign: Campaign, deployments: Collection[Deployment] | None = None) -> date:
    """On the clock of the site; today while an instrument still stands there, and before the first visit the last
    planned day, but never later than today. One query without ``deployments``, which are all of the campaign."""
    if deployments is None:
        ends = list(campaign.deployments.order_by().values_list("ends_at", flat=True))
    else:
        ends = [deployment.ends_at for deployment in deployments]
    if not ends:
        return min(campaign.ends_on, today())
    ended = [end for end in ends if end is not None]
    if len(ended) < len(ends):
        return today()
    return min(max(ended).astimezone(campaign.site.zone_info).date(), today())

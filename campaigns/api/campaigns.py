"""Campaigns, and where instruments stood."""

from __future__ import annotations

from django.db.models import Q

from campaigns.api.base import ReadOnly, RowSerializer, key_of
from campaigns.api.params import by_key, by_time
from campaigns.models import Campaign, Deployment, TokenScope


class CampaignSerializer(RowSerializer[Campaign]):
    site = key_of("site")

    class Meta:
        model = Campaign
        fields = (
            "key", "site", "name", "objective", "protocol", "starts_on", "ends_on", "level_above", "level_below",
            "shift_hours", "unsampled", "station_pressure_kpa",
        )  # fmt: skip


class DeploymentSerializer(RowSerializer[Deployment]):
    campaign = key_of("campaign")
    instrument = key_of("instrument")
    point = key_of("point")

    class Meta:
        model = Deployment
        fields = ("key", "campaign", "instrument", "point", "starts_at", "ends_at", "switched_on_at", "notes")


class CampaignViewSet(ReadOnly[Campaign]):
    """Campaigns: a question asked of a site."""

    model = Campaign
    scope = TokenScope.CAMPAIGNS
    serializer_class = CampaignSerializer
    related = ("site",)
    filters = {"site": by_key("site", "Campaigns of this site.")}


class DeploymentViewSet(ReadOnly[Deployment]):
    """Deployments: one instrument at one point from start to end. No end: it is still there."""

    model = Deployment
    scope = TokenScope.CAMPAIGNS
    serializer_class = DeploymentSerializer
    related = ("campaign", "instrument", "point")
    filters = {
        "campaign": by_key("campaign", "Deployments of this campaign."),
        "instrument": by_key("instrument", "Deployments of this instrument."),
        "point": by_key("point", "Deployments at this point."),
        "from": by_time(
            "Deployments that lasted beyond this time (UTC).", lambda at: Q(ends_at__isnull=True) | Q(ends_at__gt=at)
        ),
        "to": by_time("Deployments that started before this time (UTC).", lambda at: Q(starts_at__lt=at)),
    }

"""What was asked for: a campaign's readings, narrowed by place, instrument, parameter and time."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.db.models import Q
from django.http import QueryDict
from rest_framework.exceptions import ValidationError

from campaigns.api.base import named, named_or_404
from campaigns.api.params import Filter, by_choice, by_key, by_time, read_all, read_key
from campaigns.models import ApiToken, Campaign, Deployment
from methods.quantities.substances import SUBSTANCES

#: Which deployments are wanted. Parameter and time narrow inside them.
FILTERS: dict[str, Filter] = {
    "campaign": by_key("campaign", "The campaign whose readings are wanted.", required=True),
    "deployment": Filter("Readings of this deployment.", read_key, {"type": "string", "format": "uuid"},
                         lambda key: Q(key=key)),
    "point": by_key("point", "Readings at this point."),
    "room": by_key("point__room", "Readings in this room."),
    "zone": by_key("point__room__zone", "Readings in this zone."),
    "instrument": by_key("instrument", "Readings of this instrument."),
    "parameter": by_choice("", SUBSTANCES, "Readings of this parameter."),
    "from": by_time("Readings at or after this time.", lambda at: Q(ends_at__isnull=True) | Q(ends_at__gt=at)),
    "to": by_time("Readings before this time.", lambda at: Q(starts_at__lt=at)),
}  # fmt: skip


@dataclass(frozen=True)
class Ask:
    """wanted: deployments whose readings are answered, by id.

    together: by instrument id, all deployments of an instrument in the campaign, wanted or not: a reading's flags
    depend on what the instrument did before, so a narrowed answer must be derived from the same whole.
    """

    token: ApiToken
    campaign: Campaign
    wanted: dict[int, Deployment]
    together: dict[int, list[Deployment]]
    parameter: str | None
    start: datetime | None
    end: datetime | None


def read(given: QueryDict, token: ApiToken) -> Ask:
    """Raises ValidationError (400) for a parameter that cannot be read, Http404 for a campaign that is not theirs."""
    values = read_all(given, FILTERS)
    start, end = values.get("from"), values.get("to")
    if start and end and start >= end:
        raise ValidationError({"to": ["“to” must be later than “from”."]})
    campaign = named_or_404(token, Campaign, values["campaign"], "site")
    wanted = _wanted(token, values)
    instruments = {deployment.instrument_id for deployment in wanted.values()}
    together: dict[int, list[Deployment]] = defaultdict(list)
    for deployment in named(token, Deployment).filter(campaign=campaign, instrument__in=instruments):
        together[deployment.instrument_id].append(deployment)
    return Ask(token, campaign, wanted, together, values.get("parameter"), start, end)


def _wanted(token: ApiToken, values: dict[str, Any]) -> dict[int, Deployment]:
    rows = named(token, Deployment).select_related("point")
    for name, value in values.items():
        if name != "parameter":
            rows = rows.filter(FILTERS[name].condition(value))
    return {deployment.pk: deployment for deployment in rows}

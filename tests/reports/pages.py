"""Ways to ask for the pages of judging, and to read them."""

from __future__ import annotations

import html
import json
import re
from collections.abc import Callable
from datetime import timedelta
from typing import Any

from django.test import Client
from django.urls import reverse

from campaigns import models as m
from campaigns.models import Criterion
from tests import factories as make
from tests.reports.measured import House, judge, measure

Browse = Callable[[m.User | None], Client]


def text_of(response: Any) -> str:
    """What a reader sees, without mark-up, blanks as one space."""
    page = re.sub(r"<(script|pre)\b.*?</\1>", " ", response.content.decode(), flags=re.S)
    return re.sub(r"\s+", " ", html.unescape(re.sub(r"<[^>]+>", " ", page))).strip()


def campaign_url(campaign: m.Campaign, criterion: Criterion | None = None) -> str:
    return reverse("campaign", args=[campaign.key]) + (f"?criterion={criterion.key}" if criterion else "")


def zone_url(campaign: m.Campaign, zone: m.Zone, criterion: Criterion | None = None) -> str:
    return reverse("zone", args=[campaign.key, zone.key]) + (f"?criterion={criterion.key}" if criterion else "")


def figures_in(response: Any) -> list[dict[str, Any]]:
    """Figures of a fetched piece, from their hidden elements."""
    found = re.findall(r"<pre hidden id=\"[^\"]+\">(.*?)</pre>", response.content.decode(), flags=re.S)
    return [json.loads(html.unescape(text)) for text in found]


def crowd(found: House, zone: m.Zone, rooms: int, *, first_hour: int = 24) -> None:
    """More measured rooms in a zone, all by the house's instrument, and judged."""
    for hour in range(first_hour, first_hour + 2 * rooms, 2):
        point = make.PointFactory(room__zone=zone, room__name=f"Room {hour:03d}", name="centre")
        measure(found, point, make.START + timedelta(hours=hour), 0.03, line=100 * hour)
    judge(found.campaign)

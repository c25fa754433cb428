"""An acceptance that is told of a time before the offer, and a client who is another one of the same name."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.core.exceptions import ValidationError
from django.utils import timezone

from campaigns import models as m
from campaigns.services import agreements
from campaigns.services.records import save_changed
from reports.services.departures import agreement_standing
from tests import factories as make
from tests.agreeing import accepted, consultant_of, offered
from tests.reports.measured import house

pytestmark = pytest.mark.django_db


def test_nobody_accepted_before_it_was_offered(site: m.Site) -> None:
    found = house(site)
    now = timezone.now()
    row = offered(found.campaign, at=now - timedelta(days=1))
    by = consultant_of(found.campaign)
    with pytest.raises(ValidationError, match="offered later"):
        agreements.record_acceptance(row, by, name="B. Sill", at=now - timedelta(days=2), how="by phone")
    row.refresh_from_db()
    assert row.state == m.Agreement.State.OFFERED
    agreements.record_acceptance(row, by, name="B. Sill", at=now - timedelta(hours=1), how="by phone")


def test_another_client_of_the_same_name(site: m.Site) -> None:
    found = house(site)
    accepted(found.campaign, at=make.START - timedelta(days=7))

    def items() -> list[str]:
        campaign = m.Campaign.objects.get(pk=found.campaign.pk)
        return [row.item for row in agreement_standing(campaign).departures]

    assert "Client" not in items()
    client = found.campaign.site.client
    assert client is not None
    name = client.name
    save_changed(client, name="Renamed")
    assert "Client" not in items()
    other = make.ClientFactory.create(organisation=site.organisation, name=name)
    save_changed(m.Site.objects.get(pk=found.campaign.site_id), client=other)
    assert "Client" in items()

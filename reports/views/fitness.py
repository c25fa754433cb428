"""Whether an instrument is fit for what is asked of it."""

from __future__ import annotations

from typing import Any, ClassVar
from zoneinfo import ZoneInfo

from django.db.models import Prefetch, Q
from django.http import HttpRequest, HttpResponse
from django.utils import timezone

from campaigns import access
from campaigns.links import trail
from campaigns.models import Campaign, Channel, Deployment, FieldCheck, Instrument
from campaigns.services.instrument_state import zone_of
from campaigns.views.pages import RowPage
from reports.pages import instrument_fitness as panel

#: So many campaigns are asked about: those it was in, then the newest of the house.
CAMPAIGNS = 5


class FitnessPage(RowPage):
    model = Instrument
    template_name = "reports/fitness.html"
    related: ClassVar[tuple[str, ...]] = ("type", "organisation")

    def get(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        instrument = self.found
        zone = ZoneInfo(zone_of(instrument))
        channels = list(
            access.visible(self.person, Channel)
            .filter(instrument=instrument)
            .select_related("spec", "instrument__type")
            .prefetch_related(
                "calibrations", Prefetch("field_checks", FieldCheck.objects.select_related("accepted_by"))
            )
        )
        deployed = access.visible(self.person, Deployment).filter(instrument=instrument)
        days = panel.days(instrument, channels, deployed.select_related("campaign__site"))
        papers = panel.papers(channels, timezone.localdate())
        checks = [(channel, panel.checked(channel, zone)) for channel in channels]
        # a thermometer is not asked for its zero in the field
        checks = [(channel, group) for channel, group in checks if group or channel.spec.substance.zero_check]
        return self.show(
            title=f"Fitness of {instrument.name}",
            kicker="Instrument",
            crumbs=trail(instrument),
            instrument=instrument,
            zone=zone.key,
            warnings=panel.warnings(
                papers,
                days,
                [checked for _, group in checks for checked in group],
                panel.contradicting(channels, zone),
            ),
            papers=papers,
            checks=checks,
            days=days[:20],
            more_days=max(0, len(days) - 20),
            decisions=panel.decisions(instrument, self.campaigns(), channels),
            storage=panel.STORAGE,
            may_change=self.may_change,
        )

    def campaigns(self) -> list[Campaign]:
        """Those it stood in and, where these are few, the newest of the house: it may be planned for them."""
        rows = access.visible(self.person, Campaign).filter(site__organisation=self.found.organisation_id)
        rows = rows.select_related("site").order_by("-starts_on", "pk")
        own = list(rows.filter(Q(deployments__instrument=self.found)).distinct()[:CAMPAIGNS])
        held = {campaign.pk for campaign in own}
        return [*own, *(c for c in rows[:CAMPAIGNS] if c.pk not in held)][:CAMPAIGNS]

from __future__ import annotations

from datetime import timedelta

import pytest

from campaigns.models import Deployment, Record, Site, TokenScope
from tests.api.contract import Endpoint
from tests.api.making import deployment_on
from tests.api.program import Program
from tests.factories import START


class TestDeployments(Endpoint):
    path = "deployments/"
    scope = TokenScope.CAMPAIGNS

    def make(self, site: Site) -> Record:
        return deployment_on(site)

    def test_what_it_says(self, row: Deployment, program: Program) -> None:
        assert program.body(self.detail(row)) == {
            "key": str(row.key),
            "campaign": str(row.campaign.key),
            "instrument": str(row.instrument.key),
            "point": str(row.point.key),
            "starts_at": "2026-09-15T08:00:00Z",
            "ends_at": "2026-09-15T10:00:00Z",
            "switched_on_at": None,
            "notes": "",
        }

    def test_of_one_campaign_instrument_or_point(self, row: Deployment, site: Site, program: Program) -> None:
        self.make(site)
        for name, other in (("campaign", row.campaign), ("instrument", row.instrument), ("point", row.point)):
            assert program.keys(self.path, **{name: other.key}) == {str(row.key)}

    @pytest.mark.parametrize(
        ("start", "end", "met"),
        [
            ("2026-09-15T10:00:00Z", None, {"open"}),  # the other one has just ended
            ("2026-09-15T11:00:00+02:00", None, {"closed", "open"}),  # 09:00 UTC
            (None, "2026-09-15T08:00:00Z", set()),
            (None, "2026-09-15T08:00:01Z", {"closed"}),
            ("2026-09-15T09:59:59Z", "2026-09-15T12:00:01Z", {"closed", "open"}),
        ],
    )
    def test_of_a_time(
        self, row: Deployment, site: Site, program: Program, start: str | None, end: str | None, met: set[str]
    ) -> None:
        still = deployment_on(site, starts_at=START + timedelta(hours=4), ends_at=None)
        names = {str(row.key): "closed", str(still.key): "open"}
        params = {name: value for name, value in (("from", start), ("to", end)) if value}
        assert {names[key] for key in program.keys(self.path, **params)} == met

    @pytest.mark.parametrize("text", ["2026-09-15T08:00:00", "2026-09-15T08:00:00+00:00", "yesterday"])
    def test_a_time_says_its_offset(self, text: str, program: Program) -> None:
        """A “+” that is not sent as %2B arrives as a blank."""
        response = program.client.get(f"/api/v1/deployments/?from={text}")
        assert response.status_code == 400
        assert "Z" in response.json()["from"][0]

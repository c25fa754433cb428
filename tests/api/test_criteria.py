from __future__ import annotations

from decimal import Decimal

from campaigns.models import Criterion, Limit, Record, Site, TokenScope
from tests import factories as make
from tests.api.contract import Endpoint
from tests.api.making import campaign_on
from tests.api.program import Program


class TestCriteria(Endpoint):
    path = "criteria/"
    scope = TokenScope.FINDINGS

    def make(self, site: Site) -> Record:
        return make.CriterionFactory.create(campaign=campaign_on(site))

    def test_what_it_says(self, row: Criterion, program: Program) -> None:
        """WHO guidelines for indoor air quality (2010): formaldehyde 0.1 mg/m³ as a 30-minute average."""
        said = program.body(self.detail(row))
        limit = said.pop("limit")
        assert said == {"key": str(row.key), "campaign": str(row.campaign.key), "position": 0}
        assert (limit["code"], limit["parameter"], limit["value"], limit["unit"], limit["averaging_minutes"]) == (
            "HCHO-WHO10-30M", "formaldehyde", 0.1, "mg/m³", 30,
        )  # fmt: skip
        assert limit["published"] is True
        assert limit["tolerance"] is None
        assert (limit["in_force"], limit["valid_from"], limit["valid_to"]) == (True, None, None)
        assert "0.1 mg/m³" in limit["text"]
        assert "2010" in limit["citation"]

    def test_a_limit_whose_day_has_not_come_is_not_in_force(self, site: Site, program: Program) -> None:
        """Directive (EU) 2024/2881: the long-term objective for ozone is one for 2050."""
        coming = Limit.objects.get(code="O3-EU-2050")
        make.CriterionFactory.create(campaign=campaign_on(site), limit=coming)
        (said,) = program.rows(self.path, parameter="o3")
        assert (said["limit"]["in_force"], said["limit"]["valid_from"]) == (False, "2050-01-01")

    def test_a_limit_for_occupied_time(self, site: Site, program: Program) -> None:
        campaign = campaign_on(site)
        for code in ("CO2-UK-BB101-MECH-DAY", "CO2-FR-800", "CO2-DE-1000"):
            make.CriterionFactory.create(campaign=campaign, limit=Limit.objects.get(code=code))
        said = {row["limit"]["code"]: row["limit"]["occupied"] for row in program.rows(self.path, parameter="co2")}
        assert said == {"CO2-UK-BB101-MECH-DAY": "day", "CO2-FR-800": "time", "CO2-DE-1000": ""}

    def test_a_tolerance_of_the_rule(self, site: Site, program: Program) -> None:
        make.CriterionFactory.create(campaign=campaign_on(site), limit=Limit.objects.get(code="HCHO-WELL2"))
        (said,) = program.rows(self.path)
        assert (said["limit"]["value"], said["limit"]["tolerance"]) == (50.0, 0.2)
        assert "tolerance of 20 %" in said["limit"]["text"]

    def test_a_limit_of_the_house(self, row: Criterion, site: Site, program: Program) -> None:
        own = Limit.objects.create(
            organisation=site.organisation, code="SPEC-1", body="the client", document="Specification 1",
            parameter="co2", value=Decimal("1000"), unit="ppm", averaging=Limit.Averaging.ROLLING, averaging_minutes=60,
        )  # fmt: skip
        criterion = make.CriterionFactory.create(campaign=row.campaign, limit=own)
        (said,) = program.rows(self.path, parameter="co2")
        assert said["key"] == str(criterion.key)
        assert said["limit"]["published"] is False
        assert said["limit"]["text"] == "≤ 1000 ppm, worst 60 min mean – the client"
        assert said["limit"]["citation"] == "the client, Specification 1"

    def test_a_published_limit_that_is_no_longer_shipped(self, site: Site, program: Program) -> None:
        gone = Limit.objects.create(
            code="HCHO-GONE", body="a body", document="a document", parameter="formaldehyde", value=Decimal("0.2"),
            unit="mg/m³", averaging=Limit.Averaging.ROLLING, averaging_minutes=30, text="≤ 0.2 mg/m³",
        )  # fmt: skip
        make.CriterionFactory.create(campaign=campaign_on(site), limit=gone)
        (said,) = program.rows(self.path)
        assert (said["limit"]["text"], said["limit"]["citation"]) == ("≤ 0.2 mg/m³", "a body, a document")

    def test_of_one_campaign(self, row: Criterion, site: Site, program: Program) -> None:
        self.make(site)
        assert program.keys(self.path, campaign=row.campaign.key) == {str(row.key)}

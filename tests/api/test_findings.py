from __future__ import annotations

from campaigns.models import Record, Site, TokenScope
from reports.api.wording import citation_of
from reports.models import Finding
from tests.api.contract import Endpoint
from tests.api.making import deployment_on, finding_for
from tests.api.program import Program


class TestFindings(Endpoint):
    path = "findings/"
    scope = TokenScope.FINDINGS

    def make(self, site: Site) -> Record:
        return finding_for(deployment_on(site))

    def test_what_it_says(self, row: Finding, program: Program) -> None:
        said = program.body(self.detail(row))
        del said["governing"]
        assert said == {
            "key": str(row.key),
            "campaign": str(row.criterion.campaign.key),
            "criterion": str(row.criterion.key),
            "zone": str(row.zone.key),
            "limit_code": row.criterion.limit.code,
            "limit_text": row.criterion.limit.text,
            "limit_citation": citation_of(row.criterion.limit),
            "verdict": "below",
            "words": "below limit",
            "glyph": "▽",
            "met": None,
            "fraction": 0.41,
            "statement": "The air of this zone is below the limit.",
            "advice": "",
            "value": 0.041,
            "unit": "mg/m³",
            "u": 0.006,
            "p_above": 0.0,
            "window_start": "2026-09-15T08:00:00Z",
            "window_end": "2026-09-15T08:30:00Z",
            "rooms": {"above": 0, "undecided": 0, "below": 1, "not_comparable": 0, "unmeasured": 1},
            "method": "1",
            "digest": row.digest,
        }
        assert row.criterion.limit.text

    def test_what_it_says_of_the_result_that_governs(self, row: Finding, program: Program) -> None:
        governing, result = program.body(self.detail(row))["governing"], row.governing
        assert result.deployment is not None
        assert governing == {
            "key": str(result.key),
            "deployment": str(result.deployment.key),
            "point": str(result.point.key),
            "reading_count": 180,
            "coverage": 0.98,
            "budget": result.budget,
            "trace": result.trace,
            "method": "1",
            "digest": result.digest,
        }

    def test_of_one_campaign_criterion_zone_or_verdict(self, row: Finding, site: Site, program: Program) -> None:
        other = finding_for(deployment_on(site), verdict="undecided")
        assert program.keys(self.path, verdict="undecided") == {str(other.key)}
        places = {"campaign": row.criterion.campaign, "criterion": row.criterion, "zone": row.zone}
        for name, place in places.items():
            assert program.keys(self.path, **{name: place.key}) == {str(row.key)}

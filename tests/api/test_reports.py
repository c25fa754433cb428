from __future__ import annotations

from django.utils import timezone

from campaigns.models import Record, Site, TokenScope
from reports.models import Report
from tests.api.contract import Endpoint
from tests.api.making import campaign_on, report_on
from tests.api.program import Program, counted


class TestReports(Endpoint):
    path = "reports/"
    scope = TokenScope.FINDINGS

    def make(self, site: Site) -> Record:
        return report_on(campaign_on(site))

    def test_what_it_says(self, row: Report, program: Program) -> None:
        assert program.body(self.detail(row)) == {
            "key": str(row.key),
            "campaign": str(row.campaign.key),
            "revision": 1,
            "changes": "",
            "signed_name": "A. Consultant",
            "signed_at": "2026-10-01T09:00:00Z",
            "released": False,
            "released_at": None,
            "withdrawn_at": None,
            "digest": row.digest,
        }

    def test_released_and_withdrawn(self, row: Report, program: Program) -> None:
        Report.objects.update(released_at=timezone.now())
        assert program.body(self.detail(row))["released"] is True
        Report.objects.update(withdrawn_at=timezone.now())
        said = program.body(self.detail(row))
        assert said["released"] is False
        assert said["withdrawn_at"]

    def test_of_one_campaign(self, row: Report, site: Site, program: Program) -> None:
        self.make(site)
        assert program.keys(self.path, campaign=row.campaign.key) == {str(row.key)}

    def test_the_content_is_not_fetched_for_a_list(self, row: Report, program: Program) -> None:
        with counted() as seen:
            program.rows(self.path)
        assert not [sql for sql in seen if '"content"' in sql]

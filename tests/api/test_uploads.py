from __future__ import annotations

from datetime import datetime

import pytest

from campaigns.models import Record, Site, TokenScope
from readings.models import Problem, Upload
from tests import factories as make
from tests.api.contract import Endpoint
from tests.api.making import campaign_on, upload_to
from tests.api.program import Program, token_for


class TestUploads(Endpoint):
    path = "uploads/"
    scope = TokenScope.CAMPAIGNS

    def make(self, site: Site) -> Record:
        return upload_to(campaign_on(site), make.InstrumentFactory.create(organisation=site.organisation))

    def test_what_it_says(self, site: Site, program: Program) -> None:
        upload = upload_to(
            campaign_on(site), filename="=danger().csv", size=2048, state="read", lines=90, stored=60, held=30,
            problem_count=2, first_stamp_ms=1_789_462_800_000, last_stamp_ms=1_789_466_400_500,
        )  # fmt: skip
        said = program.body(self.detail(upload))
        assert datetime.fromisoformat(said.pop("received_at")) == upload.created_at
        assert said == {
            "key": str(upload.key),
            "campaign": str(upload.campaign.key),
            "instrument": None,
            "archive": None,
            "member": "",
            "filename": "=danger().csv",
            "size": 2048,
            "sha256": upload.sha256,
            "state": "read",
            "lines": 90,
            "stored": 60,
            "held": 30,
            "problem_count": 2,
            "first_stamp": "2026-09-15 09:00:00",
            "last_stamp": "2026-09-15 10:00:00.500",
        }

    def test_of_one_campaign_instrument_or_state(self, row: Upload, site: Site, program: Program) -> None:
        assert row.instrument is not None
        doubtful = upload_to(campaign_on(site), state="attention")
        assert program.keys(self.path, campaign=row.campaign.key) == {str(row.key)}
        assert program.keys(self.path, instrument=row.instrument.key) == {str(row.key)}
        assert program.keys(self.path, state="attention") == {str(doubtful.key)}


class TestProblems:
    @pytest.fixture
    def upload(self, site: Site) -> Upload:
        upload = upload_to(campaign_on(site))
        lines = [0, 7, 7, 7, 7, 7, 3, 12]
        Problem.objects.bulk_create(
            Problem(upload=upload, line=line, column="HCHO", value=str(k), code="not-a-number", message="Text.")
            for k, line in enumerate(lines)
        )
        Problem.objects.create(upload=upload_to(upload.campaign), code="other", message="Of another file.")
        return upload

    def test_line_by_line(self, upload: Upload, program: Program) -> None:
        rows = program.rows(f"uploads/{upload.key}/problems/")
        assert [row["line"] for row in rows] == [0, 3, 7, 7, 7, 7, 7, 12]
        assert rows[0] == {"line": 0, "column": "HCHO", "value": "0", "code": "not-a-number", "message": "Text."}

    @pytest.mark.parametrize("size", range(1, 9))
    def test_pages_meet_each_once_even_on_one_line(self, size: int, upload: Upload, program: Program) -> None:
        page = program.body(f"uploads/{upload.key}/problems/", page_size=size)
        met = [row["value"] for row in page["results"]]
        while page["next"]:
            page = program.follow(page["next"])
            met += [row["value"] for row in page["results"]]
        assert met == ["0", "6", "1", "2", "3", "4", "5", "7"]

    def test_who_may_not(self, upload: Upload, site: Site, other_program: Program, anonymous: Program) -> None:
        path = f"uploads/{upload.key}/problems/"
        lacking = Program(
            token_for(site.organisation, [TokenScope.READINGS, TokenScope.PLACES, TokenScope.FINDINGS])[1]
        )
        assert other_program.ask(path).status_code == 404
        assert anonymous.ask(path).status_code == 401
        assert lacking.ask(path).status_code == 403

    def test_strict(self, upload: Upload, program: Program) -> None:
        path = f"uploads/{upload.key}/problems/"
        assert set(program.ask(path, state="read").json()) == {"state"}
        for cursor in ("cD1ub3doZXJl", "%", "cD05OTk5OTk5OTk5OTk5OTk5OTk5OTk5OTk="):  # p=nowhere; p beyond any bigint
            assert program.ask(path, cursor=cursor).status_code in (200, 400)
        assert program.ask(path, cursor="cD1ub3doZXJl").status_code == 400
        assert program.client.post(f"/api/v1/{path}").status_code == 405

from __future__ import annotations

from typing import Any

import pytest

from campaigns.models import Record, Site, TokenScope
from reports.models import Result
from reports.trace import FORMAT
from reports.trace.stored import UPGRADERS
from reports.trace.upgrades import Part
from tests.api.contract import Endpoint
from tests.api.making import deployment_on, result_for
from tests.api.program import Program
from tests.tracing import reading_at, stored_trace


class TestResults(Endpoint):
    path = "results/"
    scope = TokenScope.FINDINGS

    def make(self, site: Site) -> Record:
        return result_for(deployment_on(site))

    def test_what_it_says(self, row: Result, program: Program) -> None:
        assert row.deployment is not None
        assert program.body(self.detail(row)) == {
            "key": str(row.key),
            "campaign": str(row.criterion.campaign.key),
            "criterion": str(row.criterion.key),
            "deployment": str(row.deployment.key),
            "point": str(row.point.key),
            "verdict": "below",
            "words": "below limit",
            "glyph": "▽",
            "met": None,
            "value": 0.041,
            "unit": "mg/m³",
            "u": 0.006,
            "dof": None,
            "excess": 0.0,
            "expanded": pytest.approx(1.96 * 0.006, rel=1e-4),
            "p_above": 0.0,
            "reading_count": 180,
            "coverage": 0.98,
            "window_start": "2026-09-15T08:00:00Z",
            "window_end": "2026-09-15T08:30:00Z",
            "comparability": "yes",
            "reasons": [],
            "budget": [{"name": "zero", "u": 0.002, "share": 1.0, "source": "instrument type", "missing": False}],
            "trace": stored_trace(first=reading_at(2), last=reading_at(181)),
            "method": "1",
            "digest": row.digest,
        }

    def test_of_an_older_format_it_says_what_is_told_today(
        self, row: Result, program: Program, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        def upgrade(part: Part, stored: Any) -> Any:
            return stored | {"personal": False} if part == "trace" else stored

        monkeypatch.setitem(UPGRADERS, FORMAT - 1, upgrade)
        now = program.body(self.detail(row))
        row.trace = {name: said for name, said in row.trace.items() if name != "personal"} | {"format": FORMAT - 1}
        row.save()
        assert program.body(self.detail(row)) == now

    def test_without_a_value(self, site: Site, program: Program) -> None:
        nothing = dict.fromkeys(("value", "u", "p_above", "coverage", "window_start", "window_end"))
        result_for(deployment_on(site), verdict="not_comparable", **nothing)
        (said,) = program.rows(self.path, verdict="not_comparable")
        assert {name: said[name] for name in nothing} == nothing

    def test_of_one_campaign_criterion_deployment_point_or_verdict(
        self, row: Result, site: Site, program: Program
    ) -> None:
        other = result_for(deployment_on(site), verdict="above")
        assert program.keys(self.path, verdict="above") == {str(other.key)}
        places = {"criterion": row.criterion, "deployment": row.deployment, "point": row.point}
        for name, place in (places | {"campaign": row.criterion.campaign}).items():
            assert place is not None
            assert program.keys(self.path, **{name: place.key}) == {str(row.key)}

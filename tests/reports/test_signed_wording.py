"""What is signed does not change when a page, a form or a label does."""

from __future__ import annotations

import pytest

from campaigns import models as m
from campaigns.models import Limit
from methods.wording import kinds
from reports.content.stored import digest_of
from reports.models import Result
from reports.services import result_cells
from reports.services.freeze import freeze
from tests import factories as make
from tests.reports.measured import House, house, judge, measure

OTHERWISE = "worded otherwise"


@pytest.fixture
def measured(site: m.Site) -> House:
    found = house(site)
    garden = make.PointFactory(room=None, site=site, name="garden", kind="outdoor")
    measure(found, garden, make.START.replace(hour=17), 0.01, line=600)
    m.ClockCheck.objects.create(instrument=found.instrument, at=make.START, shown_ms=1_789_459_200_000)
    judge(found.campaign)
    return found


def test_a_page_may_word_its_cells_otherwise(measured: House, monkeypatch: pytest.MonkeyPatch) -> None:
    before = digest_of(freeze(measured.campaign))
    for name in ("number", "spread", "probability_text", "window_text", "moment_text", "why"):
        monkeypatch.setattr(result_cells, name, lambda *_: OTHERWISE)
    monkeypatch.setattr(m.ClockCheck, "shown", OTHERWISE)
    for model, field in ((m.FieldCheck, "kind"), (m.Instrument, "clock_basis"), (m.SamplingPoint, "kind")):
        monkeypatch.setattr(model, f"get_{field}_display", lambda _: OTHERWISE)
    Result.objects.update(digest="")  # so that all of it is judged and worded anew
    judge(measured.campaign)
    assert digest_of(freeze(measured.campaign)) == before
    for named in (m.SamplingPoint, m.ClockCheck, m.FieldCheck, m.Instrument, m.Room, m.Zone, Limit, Result):
        monkeypatch.setattr(named, "__str__", lambda _: OTHERWISE)
    assert digest_of(freeze(measured.campaign)) == before


def test_what_is_signed_is_in_the_digest(measured: House, monkeypatch: pytest.MonkeyPatch) -> None:
    before = digest_of(freeze(measured.campaign))
    monkeypatch.setattr(kinds, "POINTS", {kind: OTHERWISE for kind in kinds.POINTS})
    assert digest_of(freeze(measured.campaign)) != before


def test_every_kind_has_a_word() -> None:
    assert set(kinds.POINTS) == set(m.SamplingPoint.Kind.values)
    assert set(kinds.CHECKS) == set(m.FieldCheck.Kind.values)
    assert set(kinds.CLOCKS) == set(m.Instrument.ClockBasis.values)

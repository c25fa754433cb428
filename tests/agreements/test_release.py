"""A report that departs from what was agreed is released only with a reason, and prints both."""

from __future__ import annotations

import io
from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pypdfium2
import pytest
from django.core.exceptions import ValidationError
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from campaigns import models as m
from campaigns.models import Agreement, Limit
from campaigns.services import agreements
from reports.content.agreements import ReportedAgreed, ReportedAgreement
from reports.content.record import ReportContent
from reports.content.stored import from_store, to_store
from reports.content.upgrades import upgraded
from reports.models import AgreementDeparture, Report
from reports.pdf import render
from reports.services.departures import agreement_standing, explain
from reports.services.freeze import freeze
from reports.services.release import NotReleased, prepare, sign_and_release
from tests import factories as make
from tests.agreeing import WORDS, accepted, client_of, offered, unagreed
from tests.database import unguarded
from tests.reports.measured import House, house, judge, measure, work
from tests.reports.pages import Browse, text_of
from tests.reports.signing import signed_content
from tests.worlds import World

pytestmark = pytest.mark.usefixtures("world_of_file")
Change = Callable[[House], Any]
WHY = "The client asked for it by telephone on the second day."


def build(world: World) -> House:
    """Measured as planned; no reason was given for anything."""
    found = house(world.site)
    found.campaign.planned_points.filter(point__room__zone=found.empty).delete()
    found.campaign.departures.all().delete()
    return found


@pytest.fixture
def measured(own_world: World) -> House:
    built: House = own_world.built
    return built


@pytest.fixture
def agreed(measured: House) -> Agreement:
    return accepted(measured.campaign)


def blocking(measured: House) -> list[str]:
    return [item.code for item in prepare(m.Campaign.objects.get(pk=measured.campaign.pk)).blocking]


def departures(measured: House) -> list[str]:
    standing = agreement_standing(m.Campaign.objects.get(pk=measured.campaign.pk))
    return [departure.words for departure in standing.departures]


def printed(report: Any) -> str:
    """The text of the PDF, by another library than the one that set it, blanks as one space."""
    document = pypdfium2.PdfDocument(io.BytesIO(render(report)))
    said = " ".join(page.get_textpage().get_text_range() for page in document)
    return " ".join(said.replace("\u200b", "").replace("\ufffe", "").split())


def told(content: ReportContent) -> ReportedAgreed:
    assert content.agreed is not None
    return content.agreed


def version(content: ReportContent) -> ReportedAgreement:
    said = told(content).agreement
    assert said is not None
    return said


# --- the gate ---


def test_as_agreed_it_is_released_without_a_word(agreed: Agreement, measured: House, consultant: m.User) -> None:
    assert (departures(measured), blocking(measured)) == ([], [])
    record = sign_and_release(measured.campaign, consultant, "C. Lintel").record
    assert (told(record).departures, told(record).reason) == ((), "")
    said = version(record)
    assert (said.accepted_by, said.digest) == ("Wren Mullion", agreed.digest)
    assert said.accepted == "2026-09-08 09:00"  # 08:00 UTC is 09:00 summer time in Lisbon (IANA database)


def test_without_an_agreement_it_takes_a_reason(measured: House, consultant: m.User) -> None:
    assert blocking(measured) == ["agreement-departed"]
    with pytest.raises(NotReleased, match="not what was agreed"):
        sign_and_release(measured.campaign, consultant, "C. Lintel")
    assert not Report.objects.exists()
    explain(measured.campaign, WHY, consultant)
    assert blocking(measured) == []
    assert told(sign_and_release(measured.campaign, consultant, "C. Lintel").record).reason == WHY


def test_what_was_only_offered_or_declined_is_no_agreement(measured: House) -> None:
    row = offered(measured.campaign)
    assert blocking(measured) == ["agreement-departed"]
    agreements.decline(row, client_of(measured.campaign), seen=row.digest, comment="No.")
    assert blocking(measured) == ["agreement-departed"]


def test_what_was_accepted_after_measuring_began_takes_a_reason(measured: House) -> None:
    accepted(measured.campaign, at=make.START + timedelta(minutes=1))
    (words,) = departures(measured)
    assert words == (
        "Time of the agreement (version 1): agreed before measuring; now accepted 2026-09-15 09:01, measured from "
        "2026-09-15 09:00"
    )


def test_a_later_version_after_measuring_began_is_a_change_that_takes_a_reason(
    agreed: Agreement, measured: House
) -> None:
    accepted(measured.campaign, at=make.START + timedelta(days=1))
    (words,) = departures(measured)
    assert "version 2" in words


def test_what_is_recorded_counts_from_then(measured: House, consultant: m.User) -> None:
    """Whoever records afterwards that something was accepted before says so in the report."""
    row = offered(measured.campaign)
    agreements.record_acceptance(row, consultant, name="S. Mullion", at=make.START - timedelta(days=1), how="on paper")
    (words,) = departures(measured)
    assert "recorded" in words
    said = version(freeze(measured.campaign))
    assert (said.accepted, said.accepted_by) == ("2026-09-14 09:00", "S. Mullion")
    assert said.recorded.startswith("on paper; recorded by ")


def new_limit(measured: House) -> None:
    make.CriterionFactory(campaign=measured.campaign, limit=Limit.objects.get(code="HCHO-HC-8H"))


def own(**said: Any) -> Change:
    """The client's own limit, by which the house is judged too, says something else."""
    return lambda _: Limit.objects.filter(code="OWN").update(**said)


def campaign(**said: Any) -> Change:
    return lambda _: m.Campaign.objects.update(**said)


def site(**said: Any) -> Change:
    return lambda _: m.Site.objects.update(**said)


def more_measured(measured: House) -> None:
    measure(
        measured, m.SamplingPoint.objects.get(room__zone=measured.empty), make.START + timedelta(hours=6), 0.02, line=9
    )


def less_measured(measured: House) -> None:
    measured.campaign.deployments.filter(point__room__zone=measured.low).delete()


def other_days(measured: House) -> None:
    point = m.SamplingPoint.objects.get(room__zone=measured.low)
    measure(measured, point, make.START + timedelta(days=9), 0.02, line=9)


CHANGES: dict[str, tuple[Change, str]] = {
    "level above": (campaign(level_above=0.9), "Called above from: agreed 95 %; now 90 %"),
    "level below": (campaign(level_below=0.1), "Called below up to: agreed 5 %; now 10 %"),
    "question": (campaign(objective="Is it low?"), "The question: agreed “Is it raised in"),
    "protocol": (
        campaign(protocol="Doors open"),
        "Protocol: agreed nothing; now “Doors open”",
    ),
    "limit added": (new_limit, "Limit: agreed nothing; now judged by Formaldehyde ≤ 50 µg/m³"),
    "limit gone": (
        lambda h: h.campaign.criteria.filter(limit__code="OWN").delete(),
        "Limit: agreed Formaldehyde ≤ 0.05 ppm",
    ),
    "value": (
        own(value="0.06"),
        "value: agreed ≤ 0.05 ppm; now ≤ 0.06 ppm",
    ),
    "averaging": (
        own(averaging_minutes=60),
        "averaging time: agreed 30 min",
    ),
    "statistic": (
        own(averaging="sample_mean"),
        "statistic: agreed worst",
    ),
    "tolerance": (own(tolerance="0.1"), "tolerance: agreed nothing; now 10 %"),
    "edition": (
        own(body="another"),
        "edition: agreed the client; now another",
    ),
    "point added": (more_measured, "Further points: agreed nothing; now measured: Cellar: Cellar room, centre"),
    "point left out": (less_measured, "Points: agreed Library: Library room, centre; now not measured"),
    "days": (other_days, "Dates of the visit: agreed 2026-09-14 to 2026-09-18; now measured 2026-09-15 to 2026-09-24"),
    "site": (site(name="Mill House"), "Site: agreed Harbour House; now Mill House"),
    "client": (site(client=None), "Client: agreed"),
}


@pytest.mark.parametrize("changed", CHANGES)
def test_each_thing_that_is_not_as_agreed_is_in_the_way_and_named(
    measured: House, consultant: m.User, changed: str
) -> None:
    own = Limit.objects.create(
        organisation=measured.campaign.site.organisation, code="OWN", body="the client", document="specification",
        parameter="formaldehyde", value="0.05", unit="ppm", averaging="rolling_mean", averaging_minutes=30,
    )  # fmt: skip
    make.CriterionFactory(campaign=measured.campaign, limit=own)
    accepted(measured.campaign)
    work()
    assert departures(measured) == []
    change, words = CHANGES[changed]
    change(measured)
    judge(measured.campaign)
    found = departures(measured)
    assert [said for said in found if words in said], found
    assert "agreement-departed" in blocking(measured)
    explain(m.Campaign.objects.get(), WHY, consultant)
    assert "agreement-departed" not in blocking(measured)


def test_a_reason_holds_for_what_it_was_given_for(agreed: Agreement, measured: House, consultant: m.User) -> None:
    m.Campaign.objects.update(level_above=0.9)
    explain(m.Campaign.objects.get(), WHY, consultant)
    assert blocking(measured) == []
    m.Campaign.objects.update(level_above=0.8)
    assert blocking(measured) == ["agreement-departed"]


def test_an_altered_agreement_is_in_the_way(agreed: Agreement, measured: House) -> None:
    with unguarded("campaigns_agreement"):
        Agreement.objects.update(content=agreed.content | {"question": "Something else?"})
    assert departures(measured) == [f"The stored agreement: agreed digest {agreed.digest}; now another content"]
    assert told(freeze(measured.campaign)).agreement is None


@pytest.mark.parametrize("reason", ["", "  ", "x" * 301])
def test_no_reason_is_none(measured: House, consultant: m.User, browse: Browse, reason: str) -> None:
    browse(consultant).post(reverse("report-agreement", args=[measured.campaign.key]), {"reason": reason})
    assert not AgreementDeparture.objects.exists()
    with pytest.raises(ValidationError):
        explain(measured.campaign, reason, consultant)


def test_where_nothing_departs_nothing_is_explained(agreed: Agreement, measured: House, consultant: m.User) -> None:
    with pytest.raises(ValidationError, match="as agreed"):
        explain(measured.campaign, WHY, consultant)


# --- what is read ---


def test_the_page_asks_and_the_report_prints(
    agreed: Agreement, measured: House, consultant: m.User, browse: Browse
) -> None:
    m.Campaign.objects.update(level_above=0.9)
    judge(measured.campaign)
    page, url = browse(consultant), reverse("report", args=[measured.campaign.key])
    asked = text_of(page.get(url))
    assert "Not as agreed" in asked
    assert "Called above from: agreed 95 %; now 90 %" in asked
    page.post(reverse("report-agreement", args=[measured.campaign.key]), {"reason": WHY})
    row = AgreementDeparture.objects.get()
    assert (row.reason, row.by) == (WHY, consultant)
    assert "Not as agreed" not in text_of(page.get(url))
    report = sign_and_release(m.Campaign.objects.get(), consultant, "C. Lintel")
    for said in (text_of(page.get(reverse("released-report", args=[report.key]))), printed(report.record)):
        for words in (
            "What was agreed", *WORDS.values(), "Wren Mullion", "Formaldehyde ≤ 0.1 mg/m³, worst 30-minute mean",
            "at most 5 % of results", "below up to 5 %; undecided in between", "Attic studio room, centre",
            "Called above from: agreed 95 %; now 90 %", WHY,
        ):  # fmt: skip
            assert words in said, words


def test_the_client_reads_in_the_report_what_was_agreed(
    agreed: Agreement, measured: House, consultant: m.User, browse: Browse
) -> None:
    report = sign_and_release(measured.campaign, consultant, "C. Lintel")
    shown = text_of(browse(client_of(measured.campaign)).get(reverse("released-report", args=[report.key])))
    assert "Measured and judged as agreed." in shown
    assert agreed.digest in shown


def test_a_report_without_an_agreement_says_so(measured: House, consultant: m.User) -> None:
    unagreed(measured.campaign)
    said = printed(signed_content(freeze(measured.campaign)))
    assert "No agreement with the client is on record" in said
    assert "A test of something else." in said


def test_what_was_signed_stays_when_another_version_is_accepted(
    agreed: Agreement, measured: House, consultant: m.User
) -> None:
    report = sign_and_release(measured.campaign, consultant, "C. Lintel")
    accepted(measured.campaign, question="Another?")
    assert version(Report.objects.get(pk=report.pk).record).version == 1
    assert blocking(measured) == []
    again = sign_and_release(measured.campaign, consultant, "C. Lintel")
    assert "What is said of the agreement with the client changed." in again.changes.splitlines()


def test_a_report_of_before_keeps_nothing_of_it(measured: House) -> None:
    assert upgraded({"format": 6}, newest=7) == {"format": 7, "agreed": None}
    stored = {**to_store(signed_content(freeze(measured.campaign))), "format": 6}
    del stored["agreed"]
    record = from_store(stored)
    assert record.agreed is None
    assert "What was agreed" not in printed(record)


def test_queries_do_not_grow_with_points(agreed: Agreement, measured: House) -> None:
    m.Campaign.objects.update(level_above=0.9)

    def asked() -> int:
        campaign = m.Campaign.objects.select_related("site__client").get()
        with CaptureQueriesContext(connection) as queries:
            assert agreement_standing(campaign).open
        return len(queries)

    few = asked()
    for n in range(3):
        point = make.PointFactory(room__zone=measured.low, room__name=f"More {n}", name="centre")
        measure(measured, point, make.START + timedelta(hours=10 + 2 * n), 0.02, line=900 + n)
    assert asked() == few

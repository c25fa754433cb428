"""What a report says, and that it says all of it and nothing else."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import replace
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from campaigns import models as m
from campaigns.models import Limit, LimitCheck
from campaigns.services.limits_library import confirm
from methods.wording.summary import ZoneVerdict
from reports.content.canonical import canonical, digest, number
from reports.content.changes import changes
from reports.content.findings import ReportedResult
from reports.content.places import ReportedZone, UnmeasuredPoint
from reports.content.record import ReportContent
from reports.content.stored import UNSIGNED, digest_of, to_store
from reports.models import Finding, Report
from reports.services.freeze import freeze
from reports.services.freezing.criteria import tally
from tests import factories as make
from tests.reports.measured import SHA, House, house, judge, measure
from tests.reports.signing import signed_content
from tests.worlds import World

pytestmark = pytest.mark.usefixtures("world_of_file")


def build(world: World) -> House:
    return house(world.site, limits=("HCHO-WHO10-30M", "HCHO-HC-8H"))


@pytest.fixture
def measured(own_world: World) -> House:
    built: House = own_world.built
    return built


@pytest.fixture
def content(measured: House) -> ReportContent:
    return freeze(measured.campaign)


def zone(content: ReportContent, name: str) -> ReportedZone:
    return next(z for z in content.zones if z.name == name)


def governing(content: ReportContent, name: str, *, against: int = 0) -> ReportedResult:
    """The result that speaks for the zone."""
    result = zone(content, name).findings[against].result
    assert result is not None
    return result


def texts(value: Any) -> Iterator[str]:
    if isinstance(value, str):
        yield value
    elif isinstance(value, dict):
        for inner in value.values():
            yield from texts(inner)
    elif isinstance(value, list):
        for inner in value:
            yield from texts(inner)


def test_it_is_plain_json(content: ReportContent) -> None:
    stored = to_store(content)
    assert json.loads(json.dumps(stored, allow_nan=False)) == stored


def test_the_same_inputs_give_the_same_digest(measured: House, content: ReportContent) -> None:
    judge(measured.campaign)
    assert digest_of(freeze(measured.campaign)) == digest_of(content)


def test_every_zone_is_there_and_an_unmeasured_one_is_unmeasured(content: ReportContent) -> None:
    said = {z.name: (z.measured, z.findings[0].verdict, z.findings[0].met) for z in content.zones}
    assert said == {
        "Attic studio": (True, "above", False),
        "Library": (True, "below", True),
        "Cellar": (False, "unmeasured", None),
    }
    assert zone(content, "Cellar").unmeasured_points == (
        UnmeasuredPoint(point="centre", room="Cellar room", why="planned, not visited"),
    )
    assert content.unmeasured == ("Cellar",)


def test_a_number_comes_with_all_that_makes_it_a_statement(measured: House, content: ReportContent) -> None:
    finding = zone(content, "Attic studio").findings[0]
    result, stored = (
        governing(content, "Attic studio"),
        Finding.objects.get(zone=measured.high, criterion__position=0).governing,
    )
    assert stored.value is not None
    assert stored.u is not None
    assert result.value == pytest.approx(stored.value)
    assert result.expanded == pytest.approx(
        1.96 * stored.u, rel=1e-4
    )  # k of a u that is well known (docs/methods/uncertainty.md)
    assert finding.statement == stored.governs.get().statement
    assert finding.fraction == pytest.approx(stored.value / 0.1)
    assert result.unit == "mg/m³"
    assert result.text.endswith("mg/m³")
    assert result.probability == "over 99.9 %"
    assert (result.room, result.point) == ("Attic studio room", "centre")


def test_times_are_on_the_clock_of_the_site(content: ReportContent) -> None:
    """Lisbon is an hour ahead of UTC in September; the visit began at 08:00 UTC."""
    result = governing(content, "Attic studio")
    assert result.start.endswith("+01:00")
    assert result.start >= "2026-09-15T09:00"
    assert result.when.startswith("15 Sep 2026 09:")


def test_the_chain_ends_at_the_lines_of_the_file(content: ReportContent) -> None:
    chain = governing(content, "Library").chain
    assert chain.first is not None
    assert chain.last is not None
    assert (chain.serial, chain.first.sha256) == ("TST-0001", SHA)
    first, last = chain.first.line, chain.last.line
    assert 92 <= first < last <= 181  # the lines of that visit
    assert chain.lines == f"lines {first} to {last}"
    assert [f.sha256 for f in content.files] == [SHA]


def test_every_result_has_a_number_of_its_own(content: ReportContent) -> None:
    refs = [r.ref for r in content.results]
    assert len(refs) == len(set(refs)) == 4  # two visits, two limits


def test_what_cannot_be_compared_has_its_reason_and_no_fraction(content: ReportContent) -> None:
    """90 minutes against an 8-hour mean (T9 of the guidelines reference)."""
    finding = zone(content, "Attic studio").findings[1]
    assert (finding.verdict, finding.met, finding.fraction) == ("not_comparable", None, None)
    assert any("shorter than" in words for words in governing(content, "Attic studio", against=1).reasons)


def test_enclosed_spaces_and_outdoor_air_stand_beside(measured: House) -> None:
    room = measured.low.rooms.get()
    cupboard = make.PointFactory(room=room, name="cupboard", kind="enclosed")
    garden = make.PointFactory(room=None, site=measured.campaign.site, name="garden", kind="outdoor")
    measure(measured, cupboard, make.START.replace(hour=14), 0.4, line=400)
    measure(measured, garden, make.START.replace(hour=17), 0.01, line=600)
    judge(measured.campaign)
    content = freeze(measured.campaign)
    library = zone(content, "Library").findings[0]
    assert library.verdict == "below"  # 0.4 ppm in a cupboard does not speak for the room
    assert [(r.point, r.kind_word) for r in library.beside] == [("cupboard", "Enclosed space")]
    assert [r.point for r in content.outdoor[0].results] == ["garden"]


def test_a_building_is_a_count_of_verdicts(content: ReportContent) -> None:
    who = content.criteria[0]
    assert {t.word: t.count for t in who.tally} == {"above limit": 1, "below limit": 1, "not measured": 1}
    assert who.sentence == (
        "In 1 of 3 zones formaldehyde was below the limit of 0.1 mg/m³ (worst 30-minute mean; WHO (Europe) 2010); "
        "above in 1 (Attic studio); not measured in 1."
    )


def test_the_limit_comes_with_its_document_and_its_mark(content: ReportContent) -> None:
    who, canada = content.criteria
    assert who.in_words == "The mean of any 30 min should not be above 0.1 mg/m³."
    assert who.citation.startswith("WHO (Europe), Guidelines for indoor air quality: selected pollutants, 2010")
    assert who.conditions.endswith("(assumed: the document states none)")
    assert who.check == "Check against the document."
    assert canada.check == ""  # seen in the document


def test_who_confirmed_a_limit_is_said_only_in_their_own_house(
    measured: House, consultant: m.User, stranger: m.User
) -> None:
    limit = Limit.objects.get(code="HCHO-WHO10-30M")
    confirm(limit, stranger.memberships.get().organisation_id, stranger)
    assert freeze(measured.campaign).criteria[0].check == "Check against the document."
    confirm(limit, measured.campaign.site.organisation_id, consultant)
    assert LimitCheck.objects.count() == 2
    assert freeze(measured.campaign).criteria[0].check == f"Compared with the document by {consultant}."


def test_instruments_come_with_calibration_and_checks(content: ReportContent) -> None:
    (meter,) = content.instruments
    (channel,) = meter.channels
    assert (meter.name, meter.serial) == ("meter A", "TST-0001")
    assert channel.calibration is not None
    assert channel.calibration.date == "2026-03-02"
    assert channel.calibration.due == "2027-03-02"
    assert channel.calibration.overdue is False
    assert [(c.kind, c.at) for c in channel.checks] == [
        ("zero", "2026-09-15 08:00"),
        ("zero", "2026-09-15 16:00"),
    ]


def test_temperature_while_measuring_is_told(measured: House) -> None:
    thermometer = make.InstrumentFactory(
        organisation=measured.campaign.site.organisation, serial="TST-0002", clock_basis="utc",
        channel__parameter="temperature", channel__unit="°C", channel__range_high=60, channel__detection_limit=None,
    )  # fmt: skip
    other = House(measured.campaign, measured.high, measured.low, measured.empty, thermometer, measured.upload)
    point = measured.high.rooms.get().points.get()
    measure(other, point, make.START, 21.5, line=1)
    (condition,) = zone(freeze(measured.campaign), "Attic studio").conditions
    assert condition.name == "Temperature"
    assert condition.text == "21.5 to 21.5 °C, mean 21.5"


def test_notes_drafts_and_other_houses_are_not_in_it(measured: House, stranger: m.User) -> None:
    secret = "xyzzy-internal"
    site, campaign = measured.campaign.site, measured.campaign
    site.notes = secret
    site.save()
    m.Room.objects.update(notes=secret)
    m.Deployment.objects.update(notes=secret)
    m.FieldCheck.objects.update(notes=secret)
    elsewhere = house(make.SiteFactory(organisation=stranger.memberships.get().organisation, name=secret)).campaign
    assert elsewhere.pk != campaign.pk
    told = list(texts(to_store(freeze(measured.campaign))))
    assert not [text for text in told if secret in text]
    assert not [text for text in told if "@" in text]  # no account


def test_the_number_of_queries_does_not_grow(measured: House) -> None:
    def count() -> int:
        with CaptureQueriesContext(
            connection,
        ) as queries:
            freeze(measured.campaign)
        return len(queries)

    count()
    few = count()
    floor = measured.low.floor
    for n in range(5):
        added = make.ZoneFactory(floor=floor, name=f"Added {n}")
        point = make.PointFactory(room__zone=added)
        measure(measured, point, make.START.replace(day=16 + n), 0.05, line=1000 * (n + 1))
    judge(measured.campaign)
    assert count() == few


# --- words and counts ---


def test_a_lower_limit_is_counted_by_its_own_words() -> None:
    found = [
        ZoneVerdict("Hall", "above", "above the lower limit", met=True),
        ZoneVerdict("Loft", "below", "below the lower limit", met=False),
    ]
    assert {t.word for t in tally(found)} == {"above the lower limit", "below the lower limit"}


def test_a_finding_in_plain_words_has_no_measured_number(content: ReportContent) -> None:
    said = [zone(content, name).findings[0].plain for name in ("Attic studio", "Library", "Cellar")]
    assert said == [
        "Formaldehyde was above the limit of 0.1 mg/m³ here.",
        "Formaldehyde was below the limit of 0.1 mg/m³ here.",
        "Formaldehyde was not measured here.",
    ]
    assert zone(content, "Library").findings[1].plain.endswith("be compared with the limit of 50 µg/m³.")


# --- canonical form ---


def test_the_digest_does_not_depend_on_the_order_of_keys() -> None:
    assert digest({"a": 1, "b": ["µ", 2.5]}) == digest({"b": ["µ", 2.5], "a": 1})
    assert digest({"a": 1}) != digest({"a": 2})


def test_the_canonical_form_is_what_it_says() -> None:
    """RFC 8259 JSON, UTF-8; the digest of "{}" is what any SHA-256 (FIPS 180-4) gives."""
    assert canonical({"b": "µg/m³", "a": [1, None]}) == '{"a":[1,null],"b":"µg/m³"}'.encode()
    assert digest({}) == "44136fa355b3678a1146ad16f7e8649e94fb4fc21fe77e8310c060f61caaff8a"


@pytest.mark.parametrize("value", [-0.0, 0.1 + 0.2, 1 / 3, 123456789.123456789, 5.0])
def test_figures_survive_the_database(value: float, measured: House, consultant: m.User) -> None:
    """PostgreSQL keeps JSON numbers as decimals, SQLite as text: neither may change a digest."""
    content = {"figure": number(value)}
    kept = Report.objects.create(
        campaign=measured.campaign, revision=9, content=content, digest=digest(content), signed_by=consultant,
        signed_name="x", signed_at=make.START,
    )  # fmt: skip
    kept.refresh_from_db()
    assert digest(kept.content) == kept.digest


def test_a_whole_content_survives_the_database(content: ReportContent, measured: House, consultant: m.User) -> None:
    signed = signed_content(content)
    kept = Report.objects.create(
        campaign=measured.campaign, revision=1, content=to_store(signed), digest=digest_of(signed),
        signed_by=consultant, signed_name="x", signed_at=make.START,
    )  # fmt: skip
    kept.refresh_from_db()
    assert digest(kept.content) == kept.digest
    assert kept.record == signed


# --- what is different ---


def test_nothing_different_says_nothing(content: ReportContent) -> None:
    assert changes(content, UNSIGNED.read(to_store(content))) == []


def test_a_corrected_calibration_shows_in_the_findings_it_changed(measured: House, content: ReportContent) -> None:
    line = m.Calibration.objects.get(channel=measured.channel)
    line.slope = 0.2
    line.save()
    judge(measured.campaign)
    said = changes(content, freeze(measured.campaign))
    attic = next(s for s in said if s.startswith("Attic studio, HCHO ≤ 0.1 mg/m³"))
    assert "above limit at" in attic.split(" before")[0]
    assert "below limit at" in attic.split(" before, ")[1]
    assert not [s for s in said if s.startswith("Cellar")]
    assert "meter A (TST-0001): what is said of its channels, calibration or checks changed." in said
    assert said.index(attic) == 0  # a changed verdict comes first


def test_a_limit_that_comes_or_goes_is_said(measured: House, content: ReportContent) -> None:
    measured.campaign.criteria.get(limit__code="HCHO-HC-8H").delete()
    make.CriterionFactory(campaign=measured.campaign, limit=Limit.objects.get(code="HCHO-OSHA-STEL"))
    judge(measured.campaign)
    said = changes(content, freeze(measured.campaign))
    assert [s for s in said if s.startswith("Added: the limit HCHO ≤ 2 ppm")]
    assert [s for s in said if s.startswith("No longer judged: the limit HCHO ≤ 50 µg/m³")]


def test_other_points_are_told_once_a_zone(measured: House, content: ReportContent) -> None:
    cupboard = make.PointFactory(room=measured.low.rooms.get(), name="cupboard", kind="enclosed")
    measure(measured, cupboard, make.START.replace(hour=14), 0.4, line=400)
    judge(measured.campaign)
    said = changes(content, freeze(measured.campaign))
    assert said == ["Library: other points changed, but none that speaks for the zone."]


def test_changed_inputs_without_a_changed_figure_are_said(content: ReportContent) -> None:
    later = replace(content, inputs_digest="0" * 64)
    assert changes(content, later) == ["The inputs of some results changed; no printed verdict or value did."]


def test_what_was_taken_off_and_assumed_is_frozen(measured: House) -> None:
    """The outdoor value beside each result, and the words of every assumption, stay with the signed report."""
    garden = make.PointFactory(room=None, site=measured.campaign.site, name="garden", kind="outdoor")
    measure(measured, garden, make.START.replace(hour=17), 0.01, line=600)
    measured.high.place_kind = "school"
    measured.high.save()
    judge(measured.campaign)
    content = freeze(measured.campaign)
    told = governing(content, measured.high.name)
    assert told.outdoor is not None
    assert told.outdoor.text.endswith("mg/m³")
    assert "garden" in told.outdoor.words
    assert told.outdoor.taken_off is False
    assert "Judged as this kind of place: school or nursery." in told.assumptions
    assert dict(told.details)["Covered"]
    json.dumps(to_store(content), allow_nan=False)

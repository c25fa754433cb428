"""The report as a PDF: it opens, it says what the content says, and what people wrote is printed, not run."""

from __future__ import annotations

import copy
import json
import re
import shutil
import subprocess
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
import typst

from campaigns import models as m
from reports.content.places import ReportedFloor, ReportedZone
from reports.content.record import SignedContent
from reports.content.stored import digest_of, from_store, to_store
from reports.pdf import FOLDER, inputs_of, needs_other_fonts, render
from reports.services.freeze import freeze
from tests import factories as make
from tests.conftest import required
from tests.reports.measured import house
from tests.reports.signing import signed_content
from tests.worlds import World

HOSTILE = '#panic("x") $ ['


pytestmark = pytest.mark.usefixtures("world_of_file")


def build(world: World) -> SignedContent:
    return signed_content(freeze(house(world.site, limits=("HCHO-WHO10-30M", "HCHO-HC-8H")).campaign))


@pytest.fixture
def content(own_world: World) -> SignedContent:
    built: SignedContent = own_world.built
    return built


def pages(document: bytes) -> int:
    """The count of the page tree's root (ISO 32000-1, 7.7.3.2)."""
    return max(int(count) for count in re.findall(rb"/Type/Pages/Count (\d+)", document))


def text_of(document: bytes, folder: Path) -> str:
    """What a reader sees, by an independent program."""
    tool = shutil.which("pdftotext")
    if tool is None:
        if required("pdftotext"):
            pytest.fail("FANLIGHT_REQUIRE names pdftotext, but it is not installed")
        pytest.skip("pdftotext is not installed")
    path = folder / "report.pdf"
    path.write_bytes(document)
    done = subprocess.run([tool, "-layout", "-enc", "UTF-8", path, "-"], capture_output=True, check=True)
    return done.stdout.decode()


def squeezed(text: str) -> str:
    """Without line ends, runs of spaces and the invisible places where a long word may break."""
    return re.sub(r"\s+", " ", text.replace("\u200b", ""))


def set_by_typst(content: SignedContent) -> str:
    """The headings of the set document, as typst's own query finds them: needs no other program."""
    found = json.loads(
        typst.query(
            FOLDER / "report.typ", "heading", root=FOLDER, ignore_system_fonts=True,
            sys_inputs=inputs_of(content),
        )
    )  # fmt: skip
    return json.dumps(found, ensure_ascii=False)


def test_it_is_a_pdf_of_some_pages(content: SignedContent) -> None:
    document = render(content)
    assert document.startswith(b"%PDF-")
    assert document.rstrip().endswith(b"%%EOF")
    assert pages(document) >= 5


def test_the_same_content_gives_the_same_bytes(content: SignedContent) -> None:
    assert render(content) == render(copy.deepcopy(content))
    assert render(content) != render(replace(content, client="Another"))


def test_it_says_what_the_content_says(content: SignedContent, tmp_path: Path) -> None:
    text = squeezed(text_of(render(content), tmp_path))
    for sentence in content.summary:
        assert squeezed(sentence) in text
    for zone in content.zones:
        assert zone.name in text
        for finding in zone.findings:
            if finding.result:
                assert finding.result.text in text
                assert finding.result.chain.serial in text
    assert digest_of(content) in text
    assert content.files[0].sha256 in text
    assert f"{content.signature.name} Lintel & Sill Air Consultants, 20 September 2026, 11:00" in text
    assert "not measured" in text
    assert "Check against the document" in text


def test_failed_checks_and_what_rests_on_them_are_printed(content: SignedContent, tmp_path: Path) -> None:
    (meter,) = content.instruments
    (channel,) = meter.channels
    failed = replace(channel.checks[0], failed=True, accepted="accepted by C. Lintel on 2026-09-20: bag not clean")
    told = replace(channel, checks=(failed, *channel.checks[1:]), contradictions=("The zero moved by too much.",))
    said = ("meter A: 1 of 2 field checks failed.", "3 of 4 results rest on a field check that failed.")
    changed = replace(content, instruments=(replace(meter, channels=(told,)),), meters=said)
    text = squeezed(text_of(render(changed), tmp_path))
    assert all(words in text for words in (*said, "The zero moved by too much."))
    assert "failed; accepted by" in text
    assert "field checks failed" not in squeezed(text_of(render(content), tmp_path))


def test_every_caution_and_reference_is_printed(content: SignedContent, tmp_path: Path) -> None:
    text = squeezed(text_of(render(content), tmp_path)).replace("- ", "-")
    for said in [*content.cautions, *content.judging, *content.uncertainty, *content.references]:
        assert said in text


def test_each_page_carries_its_number_and_the_digest(content: SignedContent, tmp_path: Path) -> None:
    document = render(content)
    sheets = text_of(document, tmp_path).split("\f")[:-1]
    assert len(sheets) == pages(document)
    for n, sheet in enumerate(sheets, 1):
        assert f"page {n} of {len(sheets)}" in sheet
        assert digest_of(content)[:16] in sheet


def test_the_course_of_the_readings_is_drawn_and_named(content: SignedContent, tmp_path: Path) -> None:
    text = squeezed(text_of(render(content), tmp_path))
    for zone in content.zones:
        drawn = text.count(f"The course of formaldehyde at the points that speak for {zone.name}, corrected.")
        assert drawn == len(zone.courses) == (1 if zone.measured else 0)
    assert "≤ 0.1 mg/m³, worst 30-minute mean" in text  # the line's name, inside the drawing
    bare = each_zone(content, lambda zone: replace(zone, courses=()))
    assert "The course of formaldehyde" not in squeezed(text_of(render(bare), tmp_path))


def each_zone(content: SignedContent, change: Callable[[ReportedZone], ReportedZone]) -> SignedContent:
    """The same report with other zones."""

    def floor(old: ReportedFloor) -> ReportedFloor:
        return replace(old, zones=tuple(change(zone) for zone in old.zones))

    houses = (replace(house, floors=tuple(floor(old) for old in house.floors)) for house in content.buildings)
    return replace(content, buildings=tuple(houses))


def everything_hostile(value: Any) -> Any:
    """The content with hostile text in every field that people fill in."""
    theirs = {
        "organisation", "client", "name", "address", "objective", "protocol", "use", "ventilation", "room", "point",
        "place", "certificate", "interference", "serial", "type", "statement", "advice", "notes", "population",
    }  # fmt: skip
    if isinstance(value, dict):
        return {
            k: f"{HOSTILE} {v}" if k in theirs and isinstance(v, str) else everything_hostile(v)
            for k, v in value.items()
        }
    return [everything_hostile(v) for v in value] if isinstance(value, list) else value


def test_what_people_wrote_is_printed_literally(content: SignedContent, tmp_path: Path) -> None:
    hostile = from_store(everything_hostile(to_store(content)))
    document = render(hostile)  # would raise if any of it were markup
    assert set_by_typst(hostile).count('#panic(\\"x\\") $ [') >= 3  # the zones' headings, by typst's own query
    text = squeezed(text_of(document, tmp_path))
    assert text.count(HOSTILE) > 20


@pytest.mark.parametrize(
    "name",
    [
        "#import \"@preview/x:1\": *", "```typ", "= Heading", "*bold*", "@label <label>", "\\u{1F4A9}", "${jndi}",
        "// not a comment", "/* nor this", "a\nb\tc", "‮reversed", "x" * 300, "",
    ],
)  # fmt: skip
def test_no_name_breaks_it(content: SignedContent, name: str) -> None:
    named = each_zone(content, lambda zone: replace(zone, name=name) if zone == content.zones[0] else zone)
    assert pages(render(replace(named, site=replace(named.site, name=name)))) >= 5


def test_names_in_other_scripts_look_for_other_fonts(content: SignedContent) -> None:
    assert not needs_other_fonts(to_store(content))
    assert not needs_other_fonts("Жё Ωµ ≥ △ ◇ – “é”")
    assert needs_other_fonts({"room": "会議室"})
    assert needs_other_fonts("غرفة")
    elsewhere = replace(content, site=replace(content.site, name="会議室"))
    assert needs_other_fonts(to_store(elsewhere))
    assert render(elsewhere).startswith(b"%PDF-")


def test_a_report_without_findings_can_be_set(site: m.Site) -> None:
    assert pages(render(signed_content(freeze(make.CampaignFactory(site=site))))) >= 1


def test_a_second_revision_says_what_changed(content: SignedContent, tmp_path: Path) -> None:
    said = ("Library: below limit before, undecided now.",)
    second = replace(content, revision=2, supersedes=1, changes=said)
    text = squeezed(text_of(render(second), tmp_path))
    assert "What is different from revision 1" in text
    assert "Library: below limit before, undecided now." in text


def enlarged(content: SignedContent, times: int) -> SignedContent:
    """The same building ``times`` over."""
    (building,) = content.buildings
    return replace(content, buildings=tuple(replace(building, name=f"House {n}") for n in range(times)))


@pytest.mark.slow
def test_sixty_pages_take_five_seconds_of_work(content: SignedContent) -> None:
    """docs/goals.md: 60 pages in 5 s. Processor time, because other tests run beside this one."""
    big = enlarged(content, 64)
    before = time.process_time()
    document = render(big)
    spent = time.process_time() - before
    print(f"{pages(document)} pages in {spent:.2f} s of processor time")
    assert pages(document) >= 60
    assert spent <= 5

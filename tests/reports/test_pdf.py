"""The report as a PDF: it opens, it says what the content says, and what people wrote is printed, not run."""

from __future__ import annotations

import copy
import json
import re
import shutil
import subprocess
import time
from pathlib import Path
from typing import Any

import pytest
import typst

from campaigns import models as m
from reports.content.canonical import digest
from reports.pdf import FOLDER, needs_other_fonts, render
from reports.services.freeze import freeze, zones_of
from tests import factories as make
from tests.conftest import required
from tests.reports.measured import house

Content = dict[str, Any]
HOSTILE = '#panic("x") $ ['


def signed(content: Content, **more: Any) -> Content:
    signature = {
        "name": "C. Lintel", "organisation": content["organisation"], "signed_at": "2026-09-20T10:00:00+00:00",
        "day": "20 September 2026", "time": "11:00",
    }  # fmt: skip
    return content | {"revision": 1, "supersedes": None, "changes": [], "signature": signature} | more


@pytest.fixture
def content(site: m.Site) -> Content:
    return signed(freeze(house(site, limits=("HCHO-WHO10-30M", "HCHO-HC-8H")).campaign))


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


def set_by_typst(content: Content) -> str:
    """The headings of the set document, as typst's own query finds them: needs no other program."""
    found = json.loads(
        typst.query(
            FOLDER / "report.typ", "heading", root=FOLDER, ignore_system_fonts=True,
            sys_inputs={"content": json.dumps(content), "digest": digest(content)},
        )
    )  # fmt: skip
    return json.dumps(found, ensure_ascii=False)


def test_it_is_a_pdf_of_some_pages(content: Content) -> None:
    document = render(content)
    assert document.startswith(b"%PDF-")
    assert document.rstrip().endswith(b"%%EOF")
    assert pages(document) >= 5


def test_the_same_content_gives_the_same_bytes(content: Content) -> None:
    assert render(content) == render(copy.deepcopy(content))
    assert render(content) != render(content | {"client": "Another"})


def test_it_says_what_the_content_says(content: Content, tmp_path: Path) -> None:
    text = squeezed(text_of(render(content), tmp_path))
    for sentence in content["summary"]:
        assert squeezed(sentence) in text
    for zone in zones_of(content):
        assert zone["name"] in text
        for finding in zone["findings"]:
            if finding["result"]:
                assert finding["result"]["text"] in text
                assert finding["result"]["chain"]["serial"] in text
    assert digest(content) in text
    assert content["files"][0]["sha256"] in text
    assert f"{content['signature']['name']} Lintel & Sill Air Consultants, 20 September 2026, 11:00" in text
    assert "not measured" in text
    assert "Check against the document" in text


def test_every_caution_and_reference_is_printed(content: Content, tmp_path: Path) -> None:
    text = squeezed(text_of(render(content), tmp_path)).replace("- ", "-")
    for said in [*content["cautions"], *content["judging"], *content["uncertainty"], *content["references"]]:
        assert said in text


def test_each_page_carries_its_number_and_the_digest(content: Content, tmp_path: Path) -> None:
    document = render(content)
    sheets = text_of(document, tmp_path).split("\f")[:-1]
    assert len(sheets) == pages(document)
    for n, sheet in enumerate(sheets, 1):
        assert f"page {n} of {len(sheets)}" in sheet
        assert digest(content)[:16] in sheet


def test_the_course_of_the_readings_is_drawn_and_named(content: Content, tmp_path: Path) -> None:
    text = squeezed(text_of(render(content), tmp_path))
    for zone in zones_of(content):
        drawn = text.count(f"The course of formaldehyde at the points that speak for {zone['name']}, corrected.")
        assert drawn == len(zone["courses"]) == (1 if zone["measured"] else 0)
    assert "≤ 0.1 mg/m³, worst 30-minute mean" in text  # the line's name, inside the drawing
    for zone in zones_of(content):
        del zone["courses"]  # as in reports of format 2
    assert "The course of formaldehyde" not in squeezed(text_of(render(content), tmp_path))


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


def test_what_people_wrote_is_printed_literally(content: Content, tmp_path: Path) -> None:
    hostile = everything_hostile(content)
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
def test_no_name_breaks_it(content: Content, name: str) -> None:
    zones_of(content)[0]["name"] = name
    content["site"]["name"] = name
    assert pages(render(content)) >= 5


def test_names_in_other_scripts_look_for_other_fonts(content: Content) -> None:
    assert not needs_other_fonts(content)
    assert not needs_other_fonts("Жё Ωµ ≥ △ ◇ – “é”")
    assert needs_other_fonts({"room": "会議室"})
    assert needs_other_fonts("غرفة")
    content["site"]["name"] = "会議室"
    assert render(content).startswith(b"%PDF-")


def test_a_report_without_findings_can_be_set(site: m.Site) -> None:
    assert pages(render(signed(freeze(make.CampaignFactory(site=site))))) >= 1


def test_a_second_revision_says_what_changed(content: Content, tmp_path: Path) -> None:
    second = content | {"revision": 2, "supersedes": 1, "changes": ["Library: below limit before, undecided now."]}
    text = squeezed(text_of(render(second), tmp_path))
    assert "What is different from revision 1" in text
    assert "Library: below limit before, undecided now." in text


def enlarged(content: Content, times: int) -> Content:
    """The same building ``times`` over."""
    (building,) = content["buildings"]
    houses = [copy.deepcopy(building) | {"name": f"House {n}"} for n in range(times)]
    return content | {"buildings": houses}


@pytest.mark.slow
def test_sixty_pages_take_five_seconds_of_work(content: Content) -> None:
    """DESIGN §8: 60 pages in 5 s. Processor time, because other tests run beside this one."""
    big = enlarged(content, 64)
    before = time.process_time()
    document = render(big)
    spent = time.process_time() - before
    print(f"{pages(document)} pages in {spent:.2f} s of processor time")
    assert pages(document) >= 60
    assert spent <= 5

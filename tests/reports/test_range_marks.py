"""A range has words and a glyph of its own on every page, in the PDF and in the API (docs/methods/verdicts.md)."""

from __future__ import annotations

import json
import re

import pytest
import typst
from django.urls import reverse

from campaigns import models as m
from methods.verdicts import MARK_GLYPHS, Verdict, mark_of
from reports.pdf import FOLDER, render
from reports.services.freeze import freeze
from reports.services.release import sign_and_release
from tests.api.program import Program, token_for
from tests.reports.judging import warm
from tests.reports.measured import House, house, judge
from tests.reports.pages import Browse, campaign_url, zone_url
from tests.reports.signing import signed_content
from tests.worlds import World

pytestmark = pytest.mark.usefixtures("world_of_file")

WITHIN, OVER, UNDER = (
    ("within_range", "⊡", "within the range"),
    ("above_range", "↥", "above the range"),
    ("below_range", "↧", "below the range"),
)


def build(world: World) -> House:
    """18 to 28 °C (TRH-JP-T): a zone within, one above, one below."""
    found = house(world.site, limits=("TRH-JP-T", "HCHO-WHO10-30M"))
    warm(found, found.low, [22.0] * 60, 8)
    warm(found, found.high, [22.0] * 30 + [31.0] * 30, 10)
    warm(found, found.empty, [12.0] * 30 + [22.0] * 30, 12)
    judge(found.campaign)
    return found


@pytest.fixture
def ranged(own_world: World) -> House:
    built: House = own_world.built
    return built


def marks(page: str) -> set[tuple[str, ...]]:
    """(class, glyph, words) of every verdict of a page."""
    return set(re.findall(r'class="verdict (\w+)"><span class="glyph" aria-hidden="true">(.)</span>([^<]+)<', page))


def test_every_mark_has_a_glyph_of_its_own() -> None:
    assert len(set(MARK_GLYPHS.values())) == len(MARK_GLYPHS) == 7
    assert mark_of("below", "within the range") == mark_of("above", "within the range") == "within_range"
    assert [mark_of(verdict, verdict.words) for verdict in Verdict] == list(Verdict)


def test_the_campaign_counts_and_ranks_a_range_by_its_own_words(
    ranged: House, consultant: m.User, browse: Browse
) -> None:
    page = browse(consultant).get(campaign_url(ranged.campaign))
    assert {WITHIN, OVER, UNDER} <= marks(page.content.decode())
    assert "▽</span>" not in page.content.decode()
    assert {(words, n) for _, words, n, _ in page.context["tally"]} == {
        (words, 1) for *_, words in (WITHIN, OVER, UNDER)
    }
    heads = [column["label"] for column in page.context["matrix_columns"]]
    by_range, by_limit = (dict(zip(heads, row, strict=True)) for row in page.context["matrix"])
    assert [by_range[head] for head in heads[1:]] == ["0", "0", "0", "1", "1", "1", "0", "0"]
    assert (by_limit["△ above"], by_limit["▽ below"], by_limit["⊡ within a range"]) == ("1", "1", "0")


@pytest.mark.parametrize(("zone", "mark"), [("low", WITHIN), ("high", OVER), ("empty", UNDER)])
def test_the_zone_page_shows_it(
    ranged: House, consultant: m.User, browse: Browse, zone: str, mark: tuple[str, ...]
) -> None:
    page = browse(consultant).get(zone_url(ranged.campaign, getattr(ranged, zone))).content.decode()
    assert mark in marks(page)


def test_the_api_tells_it(ranged: House) -> None:
    program = Program(token_for(ranged.campaign.site.organisation)[1])
    rows = {row["zone"]: row for row in program.rows("findings/") if row["limit_code"] == "TRH-JP-T"}
    told = {key: (rows[str(getattr(ranged, key).key)]) for key in ("low", "high", "empty")}
    assert {key: (row["glyph"], row["words"], row["met"]) for key, row in told.items()} == {
        "low": ("⊡", "within the range", True),
        "high": ("↥", "above the range", False),
        "empty": ("↧", "below the range", False),
    }
    within = [row for row in program.rows("results/") if row["words"] == "within the range"]
    assert [row["glyph"] for row in within] == ["⊡"]


def test_the_report_draws_it(ranged: House) -> None:
    assert render(signed_content(freeze(ranged.campaign))).startswith(b"%PDF")
    words = ", ".join(f'range-marks.at("{words}")' for *_, words in (WITHIN, OVER, UNDER))
    source = f'#import "style.typ": *\n#metadata(({words})) <m>'.encode()
    (said,) = json.loads(typst.query(source, "<m>", root=str(FOLDER)))  # type: ignore[type-var]
    assert said["value"] == ["within", "over", "under"]


def test_the_released_report_shows_it(ranged: House, consultant: m.User, browse: Browse) -> None:
    report = sign_and_release(ranged.campaign, consultant)
    page = browse(consultant).get(reverse("released-report", args=[report.key])).content.decode()
    assert {WITHIN, OVER, UNDER} <= marks(page)

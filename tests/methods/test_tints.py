"""The tints of "fraction of the limit": one scale that every eye can order, with words on it that every eye can read.

Relative luminance and contrast as WCAG 2.2 defines them (from memory); 4.5 is its AA level for text, 3 for graphics.
"""

from __future__ import annotations

import re
from itertools import pairwise
from pathlib import Path

import pytest

CSS = (Path(__file__).resolve().parents[2] / "static" / "css" / "fanlight.css").read_text(encoding="utf-8")
STEPS = [*(f"f{n}" for n in range(11)), "over"]
SCHEMES = ["light", "dark"]


def properties(scheme: str) -> dict[str, str]:
    """The custom properties in force: those of the dark scheme lie over those of the light one."""
    light, dark = CSS.split("@media screen and (prefers-color-scheme: dark)", 1)
    blocks = [light] if scheme == "light" else [light, dark.split("\n}", 1)[0]]
    return {name: value.strip() for block in blocks for name, value in re.findall(r"--([\w-]+):\s*([^;}]+)", block)}


def colour(scheme: str, name: str) -> str:
    value = properties(scheme)[name]
    referred = re.fullmatch(r"var\(--([\w-]+)\)", value)
    return colour(scheme, referred.group(1)) if referred else value


def ink_on(scheme: str, step: str) -> str:
    """The colour of words on a step, as its class says."""
    rule = re.search(rf"\.{step} \{{ --fill: var\(--{step}\);(?: --on: var\(--([\w-]+)\);)? \}}", CSS)
    assert rule is not None, step
    return colour(scheme, rule.group(1) or "on-low")


def channels(hexa: str) -> list[float]:
    return [int(hexa[n : n + 2], 16) / 255 for n in (1, 3, 5)]


def luminance(hexa: str) -> float:
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels(hexa)]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    low, high = sorted((luminance(one), luminance(other)))
    return (high + 0.05) / (low + 0.05)


def test_the_measure_measures() -> None:
    assert contrast("#000000", "#ffffff") == pytest.approx(21)
    assert contrast("#777777", "#ffffff") == pytest.approx(4.48, abs=0.01)


@pytest.mark.parametrize("scheme", SCHEMES)
def test_more_of_the_limit_is_further_from_the_paper_at_every_step(scheme: str) -> None:
    """Ordered by lightness alone, so in every kind of colour vision and in a grey print."""
    paper = colour(scheme, "paper")
    away = [contrast(colour(scheme, step), paper) for step in STEPS]
    assert all(later > earlier for earlier, later in pairwise(away))


@pytest.mark.parametrize("scheme", SCHEMES)
def test_it_is_one_hue(scheme: str) -> None:
    """Blue leads and red comes last in every step: nothing turns green, yellow or red on the way."""
    for step in STEPS:
        red, green, blue = channels(colour(scheme, step))
        assert red < green < blue, step


@pytest.mark.parametrize("scheme", SCHEMES)
@pytest.mark.parametrize("step", STEPS)
def test_words_can_be_read_on_every_step(scheme: str, step: str) -> None:
    assert contrast(ink_on(scheme, step), colour(scheme, step)) >= 4.5


@pytest.mark.parametrize("scheme", SCHEMES)
def test_text_accent_and_edges_stand_out_from_the_ground(scheme: str) -> None:
    for ground in ("paper", "sheet"):
        assert contrast(colour(scheme, "ink"), colour(scheme, ground)) >= 7
        assert contrast(colour(scheme, "faint"), colour(scheme, ground)) >= 4.5
        assert contrast(colour(scheme, "accent"), colour(scheme, ground)) >= 4.5
        assert contrast(colour(scheme, "edge"), colour(scheme, ground)) >= 3

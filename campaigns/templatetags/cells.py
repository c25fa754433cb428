"""Cells of tables and of the building: what pages repeat by the hundred, written without a template for each.

The pieces under ``templates/parts`` that carry these names say what they take.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from decimal import ROUND_HALF_UP, Decimal
from functools import lru_cache
from html import escape  # Django's, without its way through lazy words
from typing import Any

from django import template
from django.template.base import render_value_in_context
from django.template.context import Context
from django.template.defaultfilters import floatformat
from django.utils.safestring import SafeString

from methods.quantities.digits import in_digits
from methods.verdicts import MARK_GLYPHS, RANGE_WORDS, VERDICT_WORDS, mark_of

register = template.Library()


@register.filter
def uncertainty(u: float) -> str:
    """Two significant digits: an uncertainty carries no more (GUM 7.2.6)."""
    return in_digits(u, 2)


#: glyph and words of each mark; anything else is "not measured"
MARKS = {mark: (MARK_GLYPHS[mark], words) for mark, words in (*VERDICT_WORDS.items(), *RANGE_WORDS.items())}
UNMEASURED = ("–", "not measured")
TRACK, AT_LIMIT, LONGEST = 300, 200, 1.5  # of the bar: its width, where the limit is drawn, where it is cut
STEPS = (Decimal(1), Decimal("0.1"), Decimal("0.01"))


@register.simple_tag
def verdict_mark(verdict: Any, said: Any = "") -> SafeString:
    return _verdict(str(verdict or ""), str(said or ""))


@lru_cache(maxsize=256)
def _verdict(verdict: str, said: str) -> SafeString:
    mark = mark_of(verdict, said)
    _, words = MARKS.get(mark, UNMEASURED)
    kind = escape(mark or "unmeasured")
    return SafeString(f'<span class="verdict {kind}">{verdict_glyph(verdict, said)}{escape(said or words)}</span>')


@register.simple_tag
def verdict_glyph(verdict: str, said: str = "") -> SafeString:
    """The glyph of a verdict told in words, for those who see it."""
    glyph, _ = MARKS.get(mark_of(verdict, said), UNMEASURED)
    return SafeString(f'<span class="glyph" aria-hidden="true">{glyph}</span>')


@register.simple_tag
def verdict_kind(verdict: str, said: str = "") -> str:
    """The class of a verdict told in words."""
    return mark_of(verdict, said)


@register.simple_tag
def verdict_text(look: Mapping[str, Any], glyph: bool = True) -> SafeString:
    """The verdict of a measured zone as text, for drawings and labels; ``look`` as in ``parts/zone_cell.html``."""
    mark, words = MARKS.get(mark_of(look["verdict"], look.get("said") or ""), MARKS["not_comparable"])
    said = escape(f"{look.get('said') or words}{_beside(look)}")
    return SafeString(f"{mark} {said}" if glyph else said)


def _beside(look: Mapping[str, Any]) -> str:
    """What stands beside a verdict: ", an indication", or nothing."""
    return f", {look['beside']}" if look.get("beside") else ""


def verdict_sign(look: Mapping[str, Any]) -> str:
    """The glyph of a measured room or zone alone."""
    return MARKS.get(look["verdict"], MARKS["not_comparable"])[0]


@register.simple_tag
def fraction_class(fraction: Any) -> str:
    """The class that tints by fraction of the limit."""
    if fraction is None or fraction == "":
        return "plain"
    if fraction > 1:
        return "over"
    return "f0" if fraction < 0 else f"f{round(fraction * 10)}"


@register.simple_tag
def fraction_bar(fraction: Any, low: Any = None, high: Any = None) -> SafeString:
    if fraction is None or fraction == "":
        return SafeString('<span class="faint">no fraction</span>')
    spread = None if low in (None, "") or high in (None, "") else (low, high)
    between = "" if spread is None else f", between {_hundredths(low)} and {_hundredths(high)}"
    return SafeString(
        f'<span class="fraction {fraction_class(fraction)}">'
        f'<span><b>{_hundredths(fraction)}</b><span class="visually-hidden"> of the limit{between}</span></span>'
        f'<svg viewBox="0 0 {TRACK} 22" preserveAspectRatio="none" aria-hidden="true" focusable="false">'
        f'<rect class="track" y="2" width="{TRACK}" height="12" vector-effect="non-scaling-stroke"/>'
        f"{_bar(fraction)}{_spread(*spread) if spread else ''}"
        f'<path class="limit-line" d="M{AT_LIMIT}-1V22" vector-effect="non-scaling-stroke"/></svg></span>'
    )


def _bar(fraction: float) -> str:
    if fraction <= 0:
        return ""
    bar = f'<rect class="bar" y="2" width="{_along(fraction)}" height="12"/>'
    if fraction > LONGEST:
        for start, end in ((268, 280), (276, 288)):
            bar += f'<path class="break" d="M{start} 18 {end}-2" vector-effect="non-scaling-stroke"/>'
    return bar


def _spread(low: float, high: float) -> str:
    if low >= LONGEST:
        return ""
    return f'<path class="spread" d="M{_along(low)} 19H{_along(high)}" vector-effect="non-scaling-stroke"/>'


def _along(fraction: float) -> int:
    """Where it lies on the track."""
    return TRACK if fraction > LONGEST else max(0, round(fraction * AT_LIMIT))


def _hundredths(value: Any) -> str:
    return rounded(value, 2)


def rounded(value: Any, digits: int) -> str:
    """As the filter ``floatformat`` prints it, which looks the language's signs up each time."""
    if not isinstance(value, float) or not math.isfinite(value):
        return str(floatformat(value, digits))
    quantised = Decimal(repr(value)).quantize(STEPS[digits], ROUND_HALF_UP)
    return str(quantised or abs(quantised))  # no minus before nothing


@register.simple_tag
def zone_cell(zone: Mapping[str, Any]) -> SafeString:
    """See ``parts/zone_cell.html``."""
    look, value = "hatched", '<span class="zone-value">not measured</span>'
    if zone["measured"]:
        fraction = zone["fraction"]
        look = f"filled {fraction_class(fraction)}"
        share = ""
        if fraction is not None:
            hundredths = f'{_hundredths(fraction)}<span class="visually-hidden"> of the limit</span>'
            share = f' <span class="zone-fraction">{hundredths}</span>'
        value = (
            f'<span class="zone-value"><b>{escape(zone["value"])}</b> {escape(zone["unit"])}</span>\n'
            f'<span class="zone-foot">{_marked(zone)}{share}</span>'
            f"{_rooms(zone)}"
        )
    return SafeString(
        f'<li class="zone col-{zone.get("span") or 6} {look}"><a href="{escape(zone["url"])}">\n'
        f'<span class="zone-name">{escape(zone["name"])}</span>\n{value}\n</a></li>\n'
    )


def _marked(zone: Mapping[str, Any]) -> str:
    beside = escape(_beside(zone))
    return verdict_mark(zone["verdict"], zone.get("said")) + (f'<span class="small">{beside}</span>' if beside else "")


def _rooms(zone: Mapping[str, Any]) -> str:
    """How many rooms share the verdict, and a chip for each, by what was measured in it."""
    if not zone.get("rooms"):
        return ""
    chips = "".join(
        f'<span class="chip filled {fraction_class(room["fraction"])}" title="{escape(room["sentence"])}">'
        f"{verdict_sign(room)}</span>"
        if room["measured"]
        else f'<span class="chip hatched" title="{escape(room["sentence"])}"></span>'
        for room in zone.get("chips") or ()
    )
    return (
        f'\n<span class="zone-rooms">{escape(zone["rooms"])}'
        f'<span class="chips" aria-hidden="true">{chips}</span></span>'
    )


# --- tables -----------------------------------------------------------------------------------------------------------


@register.simple_tag(takes_context=True)
def table_rows(context: Context, rows: Sequence[Sequence[Any]]) -> SafeString:
    """Rows of ``parts/table.html``: the first cell heads its row."""
    return SafeString("".join(_row(context, row) for row in rows or ()))


def _row(context: Context, row: Sequence[Any]) -> str:
    first, *rest = (_cell(context, cell) for cell in row) if row else ("",)
    head = f'<th scope="row">{first}</th>' if row else ""
    return f"<tr>{head}{''.join(f'<td>{cell}</td>' for cell in rest)}</tr>\n"


def _cell(context: Context, cell: Any) -> str:
    if not isinstance(cell, Mapping):
        return _printed(context, cell)
    if verdict := cell.get("verdict"):
        return verdict_mark(verdict, cell.get("said")) + _note(context, cell)
    if cell.get("fraction") not in (None, ""):
        return fraction_bar(cell["fraction"], cell.get("low"), cell.get("high"))
    if actions := cell.get("actions"):
        with context.update({"actions": actions}):
            return context.template.engine.get_template("parts/actions.html").render(context)  # type: ignore[union-attr]
    return _text(context, cell)


def _text(context: Context, cell: Mapping[str, Any]) -> str:
    text = _printed(context, cell.get("text", ""))
    if url := cell.get("url"):
        text = f'<a href="{escape(url)}">{text}</a>'
    if unit := cell.get("unit"):
        text += f' <span class="unit">{_printed(context, unit)}</span>'
    return text + _note(context, cell)


def _note(context: Context, cell: Mapping[str, Any]) -> str:
    note = cell.get("note")
    return f'<br><span class="small faint">{_printed(context, note)}</span>' if note else ""


def _printed(context: Context, value: Any) -> str:
    if type(value) is str:
        return escape(value)
    return str(render_value_in_context(value, context))

"""Bars and ticks of strips of days, hundreds of them, written without a template for each.

See ``reports/parts/course.html``.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from html import escape  # Django's, without its way through lazy words
from typing import Any

from django import template
from django.utils.safestring import SafeString

from methods.figures.days import Tick

register = template.Library()


@register.simple_tag
def strip_ticks(ticks: Iterable[Tick]) -> SafeString:
    return SafeString("".join(f'<line x1="{tick.at}%" x2="{tick.at}%" y1="0" y2="100%"/>' for tick in ticks))


@register.simple_tag
def strip_bars(bars: Iterable[Mapping[str, Any]]) -> SafeString:
    """Each leads to its zone and says what it stands for."""
    return SafeString("".join(map(_bar, bars)))


def _bar(bar: Mapping[str, Any]) -> str:
    title = escape(bar["title"])
    return (
        f'<a href="{escape(bar["url"])}" aria-label="{title}">'
        f'<rect x="{bar["x"]}%" width="{bar["width"]}%" y="4" height="16"><title>{title}</title></rect></a>'
    )

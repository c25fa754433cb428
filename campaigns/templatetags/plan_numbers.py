"""Metres in SVG attributes: a point as the decimal sign, whatever the language of the page."""

from __future__ import annotations

from django import template

register = template.Library()


@register.filter
def metres(value: float) -> str:
    return f"{float(value):.3f}"

"""Addresses of what can be done with a row, by the word its routes begin with."""

from __future__ import annotations

from typing import Any

from django import template
from django.urls import reverse

register = template.Library()


@register.filter
def number(value: float | None) -> str:
    """The number as people write it: no zeros that say nothing, a real minus sign, a dash for none."""
    return "–" if value is None else f"{value:.6g}".replace("-", "−")


@register.simple_tag
def row_url(word: str, action: str, key: Any) -> str:
    return reverse(f"{word}-{action}", args=[key])

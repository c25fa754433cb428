"""Addresses of what can be done with a row, by the word its routes begin with."""

from __future__ import annotations

from typing import Any

from django import template
from django.urls import reverse

from methods.quantities.digits import as_entered

register = template.Library()


register.filter("number", as_entered)


@register.simple_tag
def row_url(word: str, action: str, key: Any) -> str:
    return reverse(f"{word}-{action}", args=[key])

"""Which part of a date comes first: the day, the month or the year.

The one place that knows. A stamp format (``methods.logs.stamps.stamp_formats``) writes a date in one order; where it is
written in numbers alone, the same cells may be meant in another.
"""

from __future__ import annotations

from dataclasses import replace

from methods.logs.types import Layout

DAY_FIRST, MONTH_FIRST, YEAR_FIRST = "day_first", "month_first", "year_first"
ORDER_WORDS = {DAY_FIRST: "the day", MONTH_FIRST: "the month", YEAR_FIRST: "the year"}
ORDER_QUESTION = "The dates of this file can be read in more than one order: which part comes first?"
ORDER_CHOICES = tuple((order, ORDER_WORDS[order]) for order in (DAY_FIRST, MONTH_FIRST))

_FIRST = {"%d": DAY_FIRST, "%m": MONTH_FIRST, "%y": YEAR_FIRST, "%Y": YEAR_FIRST}


def order_of(form: str) -> str:
    """Which part comes first in a stamp format; "" where it is not a date of three numbers.

    A year at the end says nothing, so "%d/%m/%Y" is day first; "%Y-%d-%m" is year first. Columns of their own for day
    and month are told apart by their names.
    """
    if "%d" not in form or "%m" not in form or "\t" in form[slice(*sorted((form.find("%d"), form.find("%m"))))]:
        return ""
    return _FIRST[min((part for part in _FIRST if part in form), key=form.find)]


def orders(form: str) -> tuple[str, ...]:
    """The formats in which dates of ``form`` could be meant, day first before month first before year first; one where
    the order is beyond doubt."""
    if not order_of(form) or "%Y" in form[: form.find("%d")] or form.startswith("%Y"):
        return (form,)
    if "%y" not in form:
        other = swap_day_and_month(form)
        return (form, other) if order_of(form) == DAY_FIRST else (other, form)
    first, second, third = sorted(("%d", "%m", "%y"), key=form.find)
    bare = form.replace(first, "%\1").replace(second, "%\2").replace(third, "%\3")
    meant = (("%d", "%m", "%y"), ("%m", "%d", "%y"), ("%y", "%m", "%d"))
    return tuple(bare.replace("%\1", a).replace("%\2", b).replace("%\3", c) for a, b, c in meant)


def orders_of(layout: Layout) -> tuple[str, ...]:
    """Which part of the date could come first: one for dates that can be read in one way only, none without dates."""
    return tuple(order for form in orders(layout.stamp_format) if (order := order_of(form)))


def is_undecided(layout: Layout) -> bool:
    """Whether the day and the month could still be the other way round."""
    is_open = layout.day_first is None and len(orders(layout.stamp_format)) > 1
    return is_open and order_of(layout.stamp_format) != YEAR_FIRST


def with_form(layout: Layout, form: str) -> Layout:
    """``layout`` with its dates settled to be written in ``form``."""
    return replace(layout, stamp_format=form, day_first=order_of(form) == DAY_FIRST)


def with_order(layout: Layout, order: str) -> Layout:
    """``layout`` with the part that ``order`` names first. ValueError where its dates cannot be read so."""
    form = next((form for form in orders(layout.stamp_format) if order_of(form) == order), None)
    if form is None:
        raise ValueError("The dates of this file are not written in this order.")
    return with_form(layout, form)


def swap_day_and_month(form: str) -> str:
    return form.replace("%d", "%\0").replace("%m", "%d").replace("%\0", "%m")

"""Limits to look through: found, ordered, placed on one axis."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from django.urls import reverse

from campaigns import access
from campaigns.models import Limit, User
from campaigns.models.limits import in_force_on, today
from campaigns.services.limit_terms import USUAL, reference_of
from methods.figures import LimitMark, limit_axis
from methods.limits import model as library
from methods.limits.model import Averaging
from methods.quantities.digits import in_digits
from methods.quantities.substances import SUBSTANCES
from methods.quantities.unit_names import MASSES
from methods.quantities.units import NotConvertible, Reference, convert

HOUR, DAY = 60, 24 * 60
#: These do not spread over powers of ten, and may be zero or below.
FOLDED = str.casefold


@dataclass(frozen=True)
class CatalogueEntry:
    """A row of the table with its limit. ``at``: its place on the axis in ``unit``, None where it has none."""

    row: Limit
    limit: library.LimitDefinition
    at: float | None = None
    placed: str = ""

    @property
    def time(self) -> str:
        return averaging_text(self.limit)

    @property
    def standing(self) -> str:
        """Why the limit is not in force today; "" where it is."""
        return "" if self.row.in_force else self.limit.standing_on(today())


def look(person: User, wanted: dict[str, Any]) -> list[CatalogueEntry]:
    """The limits a person may see that fit: published ones and those of their own organisation. One query."""
    rows = access.visible(person, Limit).filter(parameter=wanted["parameter"])
    if not wanted["superseded"]:
        rows = rows.filter(in_force_on(today()))
    entries = [CatalogueEntry(row, row.as_library()) for row in rows.select_related("organisation")]
    return [entry for entry in entries if _fits(entry, wanted)]


def _fits(entry: CatalogueEntry, wanted: dict[str, Any]) -> bool:
    limit, population = entry.limit, wanted["population"]
    if population and population not in {scope.value for scope in limit.scopes}:
        return False
    said = FOLDED(" ".join((limit.text(), limit.citation(), limit.population, limit.jurisdiction, limit.notes)))
    return all(word in said for word in FOLDED(wanted["text"]).split())


# --- order ------------------------------------------------------------------------------------------------------------


def ordered(entries: Iterable[CatalogueEntry], sort: str) -> list[CatalogueEntry]:
    """By averaging time; or by value, as far as values share an axis; or by who issued it."""
    keys = {
        "value": lambda e: (e.at is None, e.at or 0.0, e.limit.code),
        "time": lambda e: (averaging_rank(e.limit), e.at is None, e.at or 0.0, e.limit.code),
        "body": lambda e: (e.limit.body, averaging_rank(e.limit), e.limit.code),
    }
    return sorted(entries, key=keys[sort if sort in keys else "time"])


def averaging_text(limit: library.LimitDefinition) -> str:
    """The averaging time as a line of the axis: ``30 min``, ``8 h``, ``long term``."""
    kind, minutes = limit.averaging, limit.averaging_minutes
    named = {
        Averaging.CEILING: "ceiling",
        Averaging.SPOT: "single reading",
        Averaging.DAY_READINGS: "readings of a day",
        Averaging.DESIGN: "design value",
        Averaging.CHAMBER: "product test",
        Averaging.LONG_TERM_MEAN: "long term",
        Averaging.PERCENTILE: "counted over a year",
    }
    if kind in named:
        return named[kind]
    if minutes is None:
        return "occupied day" if limit.occupied is library.Occupied.DAY else "no time stated"
    if minutes < HOUR:
        return f"{minutes} min"
    return f"{in_digits(minutes / HOUR)} h" if minutes <= DAY else f"{in_digits(minutes / DAY)} days"


def averaging_rank(limit: library.LimitDefinition) -> tuple[int, int]:
    order = (Averaging.CEILING, Averaging.SPOT, Averaging.DAY_READINGS, None, Averaging.DESIGN, Averaging.PERCENTILE,
             Averaging.LONG_TERM_MEAN, Averaging.CHAMBER)  # fmt: skip
    kind = limit.averaging if limit.averaging in order else None
    unstated = kind is None and limit.averaging_minutes is None
    return order.index(kind) + unstated, 0 if kind else limit.averaging_minutes or 0


# --- one axis ---------------------------------------------------------------------------------------------------------


def axis_unit(entries: Sequence[CatalogueEntry]) -> str:
    """The unit in which most of these documents give their value; "" for no entries."""
    counts = Counter(entry.limit.unit for entry in entries)
    return counts.most_common(1)[0][0] if counts else ""


def placed(entries: Iterable[CatalogueEntry], unit: str) -> list[CatalogueEntry]:
    """Each with its place on an axis in ``unit``. Only for placing: what counts stays the document's own number."""
    return [CatalogueEntry(entry.row, entry.limit, *_place(entry.limit, unit)) for entry in entries]


def _place(limit: library.LimitDefinition, unit: str) -> tuple[float | None, str]:
    number = limit.upper if limit.upper is not None else limit.lower
    if number is None:
        return None, ""
    if limit.unit == unit:
        return number, ""
    reference = reference_of(limit) or _reference(limit)
    source, target = (reference if unit_of_two in MASSES else None for unit_of_two in (limit.unit, unit))
    equivalent = limit.equivalent or None
    try:
        at = float(convert(number, limit.parameter, limit.unit, unit, source, target, equivalent=equivalent))
    except NotConvertible:
        return None, ""
    if (source is None) == (target is None):
        return at, ""
    said = "as the document states" if limit.reference_stated else "taken; the document states none"
    return at, f"placed here by conversion {reference.text} ({said})"


def _reference(limit: library.LimitDefinition) -> Reference:
    """For a limit in ppm: the document's temperature, else 25 °C."""
    if limit.temperature_c is None:
        return USUAL
    return Reference(float(limit.temperature_c), float(limit.pressure_kpa or USUAL.pressure_kpa))


def figure(entries: Sequence[CatalogueEntry], unit: str) -> dict[str, Any]:
    lines = dict.fromkeys(entry.time for entry in sorted(entries, key=lambda e: averaging_rank(e.limit)))
    # climate does not spread over powers of ten, and may be zero or below
    is_log = bool(entries) and not SUBSTANCES[entries[0].limit.parameter].is_climate
    marks = [
        LimitMark(entry.at, entry.time, entry.limit.text(), entry.row.in_force, entry.placed)
        for entry in entries
        if entry.at is not None and (entry.at > 0 or not is_log)
    ]
    return limit_axis(marks, list(lines), unit, is_log=is_log)


# --- rows -------------------------------------------------------------------------------------------------------------


def columns(sort: str, query: str) -> list[dict[str, Any]]:
    """Columns of the table; those that order it link to the order."""
    labels = {"value": "Limit", "time": "Averaged over", "body": "Issued by"}
    sorted_columns: list[dict[str, Any]] = [
        {"label": label, "sort_url": f"?sort={name}{query}", "sorted": "ascending" if name == sort else ""}
        for name, label in labels.items()
    ]
    return [*sorted_columns, {"label": "For"}, {"label": "A campaign of days may"}, {"label": "Seen in the document"}]


CLAIMS = {
    library.Claim.COMPARE: "compare",
    library.Claim.INDICATIVE: "indicate",
    library.Claim.CONTEXT: "show as context",
}


def table(entries: Iterable[CatalogueEntry], checked: Iterable[int]) -> list[list[Any]]:
    """``checked``: limits that somebody of the person's house has held against the document."""
    seen = set(checked)
    return [_row(entry, entry.row.pk in seen) for entry in entries]


def _row(entry: CatalogueEntry, checked: bool) -> list[Any]:
    limit = entry.limit
    own = f"limit of {entry.row.organisation}" if not entry.row.published else ""
    never = limit.comparable is library.Comparable.NEVER
    return [
        {"text": limit.value_text(), "url": reverse("limit", args=[entry.row.key]), "note": own or entry.standing},
        {"text": entry.time, "note": limit.statistic},
        {"text": f"{limit.body} {limit.edition}".strip(), "note": limit.document},
        limit.population,
        "not compare: no air limit" if never else CLAIMS[limit.short_campaign],
        "yes" if checked or not limit.needs_check else "check against the document",
    ]

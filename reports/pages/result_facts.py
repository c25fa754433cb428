"""One result in facts: the number, the limit it is held against, the budget of its uncertainty."""

from __future__ import annotations

from typing import Any

from django.urls import reverse

from campaigns.pages.chosen_criteria import Chosen
from campaigns.pages.limit_wording import checked_text, reference_text, status_text
from campaigns.services.limits_library import checks_in
from methods.quantities.digits import in_digits
from methods.uncertainty import en482
from methods.uncertainty.budget import coverage_factor
from methods.wording.numbers import all_below, plain
from reports.models import Result
from reports.services import result_cells
from reports.trace import BudgetPart, OutdoorComparison, OutdoorMissing, ResultTrace

#: Degrees of freedom beyond which nothing changes any more.
WELL_KNOWN = 1000
Fact = tuple[str, Any] | tuple[str, Any, str]


def facts(result: Result, chosen: Chosen) -> list[Fact]:
    """What was computed, over which readings, with which assumptions."""
    zone = result.criterion.campaign.site.zone_info
    trace = result.traced
    statistic = "mean of all readings of the visit" if trace.is_context else chosen.limit.statistic
    coverage = "–" if result.coverage is None else f"{100 * result.coverage:.0f} %"
    out: list[Fact] = [
        ("Statistic", statistic),
        ("Window", result_cells.window_text(result, zone)),
        ("Readings", f"{result.reading_count}, covering {coverage} of the window"),
    ]
    if trace.interval_s:
        out.append(("Logged every", f"{in_digits(trace.interval_s)} s"))
    if trace.lower is not None and trace.upper is not None:
        out.append(("Readings below detection", _left_open(trace.lower, trace.upper, result.unit)))
    out += trace.details
    out += _for_work(result, chosen)
    out += [
        ("Unit", trace.unit or result.unit),
        ("Probability above", result_cells.probability_text(result)),
        *_how_probable(result, trace),
        ("Levels", trace.levels or "–"),
        *_files(trace),
        ("Method version", result.method),
        ("Digest of the inputs", result.digest),
    ]
    return out


def _left_open(lower: float, upper: float, unit: str) -> str:
    low, high = plain(lower), plain(upper)
    if all_below(lower, upper):
        return f"all of them: the mean lies under {high} {unit}"
    if low == high:
        return f"make no difference to the mean at {high} {unit}"
    return f"leave the mean open between {low} and {high} {unit}"


def _how_probable(result: Result, trace: ResultTrace) -> list[Fact]:
    """What a second person needs to come to the same probability."""
    if trace.edge is None or trace.u_at_limit is None:
        return []
    unit, excess = result.unit, result.excess
    at_limit = f"u = {plain(trace.u_at_limit)} {unit} at {plain(trace.edge)} {unit}, {freedom_text(trace.freedom)}"
    out: list[Fact] = [("Uncertainty at the limit", at_limit)]
    if excess:
        way = "too high" if excess > 0 else "too low"
        out.append(("Worst of many", f"expected {plain(abs(excess))} {unit} {way} by noise alone"))
    return out


def freedom_text(freedom: float) -> str:
    """``ν = 14``; of an uncertainty that is well known that it is."""
    return f"ν = {in_digits(freedom)}" if freedom < WELL_KNOWN else "well known (ν over 1,000)"


def _for_work(result: Result, chosen: Chosen) -> list[Fact]:
    limit = chosen.limit
    expanded = result.expanded
    if not limit.workplace or not limit.upper or not result.value or result.value < 0 or expanded is None:
        return []
    minutes = limit.averaging_minutes or 480
    return [("EN 482", en482.words(result.value, expanded, limit.upper, minutes))]


def outdoor_facts(result: Result) -> list[Fact]:
    """Indoors beside outdoors, or why there is no outdoor value. Nothing for an outdoor point itself."""
    beside = result.traced.outdoor
    if isinstance(beside, OutdoorMissing):
        return [("Outdoor air", beside.missing)]
    if not isinstance(beside, OutdoorComparison):
        return []
    ratio = beside.ratio_text or "none: the outdoor value is not clear of zero"
    return [
        ("Indoors", beside.indoor_text),
        ("Outdoors", f"{beside.text}, {beside.words}"),
        ("Difference", beside.difference_text),
        ("Ratio", ratio),
        (
            "In the result",
            "the outdoor value was taken off" if beside.taken_off else "the indoor value itself counts",
        ),
    ]


def _files(trace: ResultTrace) -> list[Fact]:
    """The first and the last reading of the window, and the hashes of the files they were read from."""
    out: list[Fact] = []
    hashes = {}
    for name, reading in (("First reading", trace.first), ("Last reading", trace.last)):
        if reading is not None and reading.upload:
            url = reverse("upload-line", args=[reading.upload, reading.line])
            out.append((name, f"stamped {reading.stamp}, line {reading.line} of {reading.file}", url))
            hashes[reading.file] = reading.sha256
    return [*out, *((f"SHA-256 of {file}", sha256) for file, sha256 in hashes.items())]


def limit_facts(chosen: Chosen, organisation_id: int) -> list[Fact]:
    """The limit with its document, and whether somebody of the house has seen it there. One query."""
    limit, row = chosen.limit, chosen.criterion.limit
    return [
        ("Limit", limit.text(), reverse("limit", args=[row.key])),
        ("Document", limit.citation()),
        ("For", limit.population),
        ("Status", status_text(limit)),
        ("Reference of its unit", reference_text(limit)),
        ("Value seen in the document", checked_text(limit, checks_in(organisation_id, [row.pk]).get(row.pk))),
    ]


def budget_table(result: Result) -> list[list[Any]]:
    """The budget as rows of ``parts/table.html``, combined and expanded uncertainty last."""
    if result.u is None or result.expanded is None:
        return []
    table = [_part(row, result.unit) for row in result.budget_parts]
    how = "k·u, widened for the choice of the worst" if result.excess else "k·u"
    k = f"k = {coverage_factor(result.freedom):.2f}, {freedom_text(result.freedom)}"
    return [
        *table,
        ["combined u", {"text": _figure(result.u), "unit": result.unit}, "100 %", "root of the sum of squares"],
        ["expanded U", {"text": _figure(result.expanded), "unit": result.unit}, "–", f"U = {how}, 95 %; {k}"],
    ]


def _part(row: BudgetPart, unit: str) -> list[Any]:
    if row.u is None:
        why = f": {row.source}" if row.source.startswith("no ") else ""
        return [row.name, "not known", "–", f"nobody entered it, and it is not taken as zero{why}"]
    share = f"{100 * row.share:.0f} %" if row.share else "0 %"
    return [row.name, {"text": _figure(row.u), "unit": unit}, share, row.source or "–"]


def _figure(u: float) -> str:
    """Two significant digits: an uncertainty carries no more (GUM 7.2.6)."""
    return in_digits(u, 2)

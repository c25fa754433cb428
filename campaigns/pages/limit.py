"""One limit with everything its row says."""

from __future__ import annotations

from typing import Any

from campaigns import access
from campaigns.models import Campaign, Limit, User
from campaigns.pages.limit_catalogue import CLAIMS, averaging_text
from campaigns.pages.limit_wording import reference_text, status_text
from methods.limits import model as library

Fact = tuple[str, Any] | tuple[str, Any, str]
CONFIDENCE = {
    library.Confidence.VERIFIED: "seen in the document or on the issuing body’s page",
    library.Confidence.SECONDARY: "seen in somebody else’s page, not in the document",
    library.Confidence.MEMORY: "from memory",
    library.Confidence.DOUBTFUL: "from memory, and not sure",
}
OUTDOOR = {
    library.OutdoorRule.ABSOLUTE: "the indoor value itself counts",
    library.OutdoorRule.ABOVE_OUTDOOR: "a difference to outdoor air: needs an outdoor value from the same time",
    library.OutdoorRule.OUTDOOR_SUBTRACTED: "the outdoor value is taken off first",
}
OCCUPIED = {
    library.Occupied.TIME: "the time of use alone, by a timetable of use",
    library.Occupied.DAY: "the time of use of a day, by a timetable of use; the worst day counts",
}
ROUNDING = {
    library.Rounding.NONE: "unrounded",
    library.Rounding.HALF_UP: "rounded half up",
    library.Rounding.TRUNCATE: "cut off",
}


def facts(limit: library.LimitDefinition) -> list[Fact]:
    """What is limited, how it is averaged, and what may be compared with it."""
    rounding = ROUNDING[limit.rounding]
    if limit.rounding is not library.Rounding.NONE:
        rounding += f" to {limit.rounding_digits} decimals before comparing"
    return [
        ("Limit", limit.value_text()),
        ("Statistic", limit.statistic),
        ("Averaged over", averaging_text(limit)),
        *([("Time that counts", OCCUPIED[limit.occupied])] if limit.occupied else []),
        ("About", limit.population),
        ("Applies to", ", ".join(scope.value for scope in limit.scopes)),
        ("Outdoor air", OUTDOOR[limit.outdoor_rule]),
        ("Compared", rounding),
        ("Reference of its unit", reference_text(limit)),
        *([("Tolerance", f"the rule’s own: {limit.tolerance_percent}")] if limit.tolerance else []),
        *([("Printed beside it", limit.in_words_pair)] if limit.in_words_pair else []),
        *([("Expressed as", limit.equivalent)] if limit.equivalent else []),
        ("A campaign of days may", f"{_claim(limit)}. {limit.reason}"),
        ("A laboratory sample may", CLAIMS[limit.laboratory]),
    ]


def _claim(limit: library.LimitDefinition) -> str:
    if limit.comparable is library.Comparable.NEVER:
        return "not compare"
    return CLAIMS[limit.short_campaign]


def source(limit: library.LimitDefinition) -> list[Fact]:
    """Where it is written and how it came here."""
    return [
        ("Issued by", limit.body),
        ("Jurisdiction", limit.jurisdiction),
        ("Document", limit.document),
        ("Edition", limit.edition or "–"),
        ("Clause", limit.clause or "–"),
        ("Status", status_text(limit)),
        ("How the value came here", CONFIDENCE[limit.confidence_value]),
        *([("On that", limit.confidence_note)] if limit.confidence_note else []),
        ("Taken from", limit.source),
        *([("Notes", limit.notes)] if limit.notes else []),
    ]


def used_in(person: User, row: Limit) -> list[Campaign]:
    """Campaigns the person may see that are judged by it. One query."""
    return list(access.visible(person, Campaign).filter(criteria__limit=row).distinct())

"""Finding limits: by parameter, and starter sets by what a place is used for."""

from __future__ import annotations

from collections.abc import Collection
from datetime import date

from methods.limits.loader import load
from methods.limits.model import Claim, Comparable, Confidence, LimitDefinition, PopulationScope
from methods.quantities.substances import SUBSTANCES

# Whose limits also apply where: documents of these bodies are read beside the country's own.
_EU_STATES = ("AT", "BE", "DE", "DK", "FI", "FR", "NL", "PL", "PT")
PARENTS: dict[str, tuple[str, ...]] = {
    **{state: ("EU", "CEN") for state in _EU_STATES},
    "GB": ("CEN",),
    "NO": ("CEN",),
    "US-CA": ("US",),
    "CA-BC": ("CA",),
}
INTERNATIONAL = "INT"

# Which scopes a set draws on. A certification set holds only what a scheme asks for, never the law beside it.
STARTER_SETS: dict[str, PopulationScope] = {
    "dwelling": PopulationScope.DWELLING,
    "public": PopulationScope.PUBLIC,
    "workplace": PopulationScope.WORKPLACE,
    "certification": PopulationScope.CERTIFICATION,
    "outdoor": PopulationScope.OUTDOOR,
}


def for_parameter(code: str, on: date) -> tuple[LimitDefinition, ...]:
    """All limits for a parameter, those in force ``on`` that day first, then by averaging time and value. KeyError for
    an unknown code."""
    if code not in SUBSTANCES:
        raise KeyError(code)
    limits = [limit for limit in load().values() if limit.parameter == code]
    return tuple(sorted(limits, key=lambda limit: (not limit.in_force_on(on), *_order(limit))))


def starter_set(
    name: str,
    *,
    on: date,
    jurisdiction: str | None = None,
    parameters: Collection[str] | None = None,
) -> tuple[LimitDefinition, ...]:
    """The limits that a metering campaign of hours or days in such a place may be judged by, if only as indication.

    ``name`` is a key of ``STARTER_SETS``; ``jurisdiction`` (such as "FR") narrows to that country's limits and to
    those above it (European, international); ``parameters`` narrows to those codes; what is not in force ``on`` that
    day is left out. Superseded, draft, interim and doubtful values are left out: they can be chosen one by one.
    Ordered by parameter, then as ``for_parameter``. KeyError for an unknown name.
    """
    scope = STARTER_SETS[name]
    return tuple(
        limit
        for code in SUBSTANCES
        if parameters is None or code in parameters
        for limit in for_parameter(code, on)
        if _starts(limit, scope)
        and (jurisdiction is None or limit.jurisdiction in _applying(jurisdiction))
        and limit.in_force_on(on)
    )


def jurisdictions() -> tuple[str, ...]:
    """Every jurisdiction that has a limit, sorted."""
    return tuple(sorted({limit.jurisdiction for limit in load().values()}))


def parameters() -> tuple[str, ...]:
    """Codes of what has a limit, in the order of the table."""
    limited = {limit.parameter for limit in load().values()}
    return tuple(code for code in SUBSTANCES if code in limited)


def _starts(limit: LimitDefinition, scope: PopulationScope) -> bool:
    return (
        scope in limit.scopes
        and limit.comparable is Comparable.YES
        and not limit.interim
        and limit.short_campaign is not Claim.CONTEXT
        and limit.confidence_value is not Confidence.DOUBTFUL
    )


def _applying(jurisdiction: str) -> frozenset[str]:
    return frozenset({jurisdiction, INTERNATIONAL, *PARENTS.get(jurisdiction, ())})


def _order(limit: LimitDefinition) -> tuple[int, str, float, str]:
    minutes = limit.averaging_minutes or 0
    number = limit.upper if limit.upper is not None else limit.lower
    return (minutes, limit.unit, number or 0.0, limit.code)

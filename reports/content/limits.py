"""What was judged against: a published limit as it is printed, and what became of the building against it."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class ReportedLimit:
    """A limit as its document states it, in codes where something is sorted or drawn by it, and in words.

    symbol: of the parameter. value: the limit with its sign and unit; threshold: the number alone, as sentences name
    it, in ``unit``. statistic: what is compared with it; averaging_minutes: None where no time is stated. reference:
    temperature and pressure at which its air is counted, "" where none is needed; conditions: the same with who says
    so. in_force: at the time of signing. confidence: how the value came here, or that it was confirmed since; check: by
    whom, when and where in the document, "" for a value that was seen in it. reason: how a short campaign is compared
    with it.
    """

    code: str
    parameter: str
    name: str
    symbol: str
    value: str
    threshold: str
    unit: str
    bound: str
    statistic: str
    averaging: str
    averaging_minutes: int | None
    in_words: str
    population: str
    body: str
    document: str
    edition: str
    clause: str
    citation: str
    conditions: str
    reference: str
    outdoor: str
    status: str
    in_force: bool
    confidence: str
    check: str
    reason: str
    notes: str


@dataclass(frozen=True, slots=True)
class VerdictCount:
    """How many zones got this verdict. indication: how many of them only as an indication, in words, "" for none."""

    verdict: str
    word: str
    count: int
    indication: str


@dataclass(frozen=True, slots=True)
class ReportedCriterion(ReportedLimit):
    """A limit that the campaign was judged against. ref: "C1", its name within the report. tally: what concerns most
    first, the unmeasured last. sentence: the whole building in one; needs: what follows for which zones, "" where
    every zone meets the limit."""

    ref: str
    tally: tuple[VerdictCount, ...]
    sentence: str
    needs: str

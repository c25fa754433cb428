"""Quality control as a campaign page, a zone page and a report tell it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

from campaigns.models import Campaign
from campaigns.services.acceptance_limits import InForce, in_force
from methods.quality.acceptance import MEASURES
from methods.quantities.substances import name_of
from methods.wording.numbers import mid_sentence
from methods.wording.quality import (
    apart_words,
    detection_words,
    failed_duplicate_words,
    limit_words,
    percent_words,
)
from reports.content.quality import ReportedDisagreement, ReportedQuality, ReportedQualityRow
from reports.services.quality.measured import quality_of
from reports.services.quality.table import in_short, quality_rows
from reports.trace.quality import DuplicateMeasured, QualityMeasured

#: Code of the measure that a pair of duplicates is held against.
DIFFERENCE = "difference"


@dataclass(frozen=True)
class QualityTold:
    """``limits``: those in force, by code of the measure."""

    measured: QualityMeasured
    limits: dict[str, InForce]
    rows: tuple[ReportedQualityRow, ...]

    @classmethod
    def of(cls, campaign: Campaign) -> QualityTold:
        """A constant number of queries."""
        measured, limits = quality_of(campaign), in_force(campaign)
        return cls(measured, limits, quality_rows(measured, limits, campaign.site.zone_info))

    @property
    def in_short(self) -> tuple[ReportedQualityRow, ...]:
        """As the campaign page and the report show it."""
        return in_short(self.rows)

    @property
    def disagreements(self) -> list[str]:
        """A sentence for each pair further apart than both uncertainties allow."""
        return [sentence_of(pair) for pair in self.measured.apart]

    @property
    def unlike(self) -> list[str]:
        """A sentence for each pair of duplicates beyond the acceptance limit."""
        return [said for _, said in failed_duplicates(self.measured, self.limits)]


def sentence_of(pair: DuplicateMeasured) -> str:
    return apart_words(*_named(pair), pair.unit)


#: Name of an instrument, its value and U.
Shown = tuple[str, float, float]


def _named(pair: DuplicateMeasured) -> tuple[str, str, str, Shown, Shown]:
    """Where, when, the parameter, and both results."""
    return (
        pair.point,
        pair.when,
        mid_sentence(name_of(pair.parameter)),
        (pair.first, pair.value_first, pair.expanded_first),
        (pair.second, pair.value_second, pair.expanded_second),
    )


def failed_duplicates(
    measured: QualityMeasured, limits: Mapping[str, InForce]
) -> Iterator[tuple[DuplicateMeasured, str]]:
    """Pairs that differ by more than the acceptance limit, each in a sentence; not those already told as further apart
    than both uncertainties allow."""
    measure, limit = MEASURES[DIFFERENCE], limits.get(DIFFERENCE)
    if limit is None or limit.percent is None:
        return
    for pair in measured.duplicates:
        if pair.relative is None or pair.apart or measure.keeps(100 * pair.relative, limit.percent):
            continue
        yield pair, failed_duplicate_words(
            *_named(pair), pair.unit, f"{percent_words(abs(pair.relative))} {measure.of}",
            limit_words(measure, limit.percent),
        )  # fmt: skip


def disagreements_in(campaign: Campaign, zone_key: str) -> list[str]:
    """Of one zone, for its page: what is further apart than both uncertainties allow, and what failed the acceptance
    limit. Two queries at most."""
    measured = quality_of(campaign)
    here = replace(measured, duplicates=tuple(pair for pair in measured.duplicates if pair.zone == zone_key))
    if not here.duplicates:
        return []
    unlike = failed_duplicates(here, in_force(campaign))
    return [sentence_of(pair) for pair in here.apart] + [said for _, said in unlike]


def reported_quality(campaign: Campaign) -> ReportedQuality:
    """For the report."""
    told = QualityTold.of(campaign)
    return ReportedQuality(
        rows=told.in_short,
        disagreements=tuple(
            ReportedDisagreement(pair.zone, name_of(pair.parameter), said)
            for pair, said in (
                *((pair, sentence_of(pair)) for pair in told.measured.apart),
                *failed_duplicates(told.measured, told.limits),
            )
        ),
        detection=tuple(
            detection_words(
                zero.meter, mid_sentence(name_of(zero.parameter)), zero.limit, zero.unit, zero.rule, zero.makers
            )
            for zero in told.measured.zeros
            if zero.limit is not None
        ),
    )

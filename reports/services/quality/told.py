"""Quality control as a campaign page, a zone page and a report tell it."""

from __future__ import annotations

from dataclasses import dataclass

from campaigns.models import Campaign
from campaigns.services.acceptance_limits import InForce, in_force
from methods.quantities.substances import name_of
from methods.wording.numbers import mid_sentence
from methods.wording.quality import apart_words, detection_words
from reports.content.quality import ReportedDisagreement, ReportedQuality, ReportedQualityRow
from reports.services.quality.measured import quality_of
from reports.services.quality.table import in_short, quality_rows
from reports.trace.quality import DuplicateMeasured, QualityMeasured


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
        """A sentence for each."""
        return [sentence_of(pair) for pair in self.measured.apart]


def sentence_of(pair: DuplicateMeasured) -> str:
    return apart_words(
        pair.point,
        pair.when,
        mid_sentence(name_of(pair.parameter)),
        (pair.first, pair.value_first, pair.expanded_first),
        (pair.second, pair.value_second, pair.expanded_second),
        pair.unit,
    )


def disagreements_in(campaign: Campaign, zone_key: str) -> list[str]:
    """Of one zone, for its page. One query."""
    return [sentence_of(pair) for pair in quality_of(campaign).apart if pair.zone == zone_key]


def reported_quality(campaign: Campaign) -> ReportedQuality:
    """For the report."""
    told = QualityTold.of(campaign)
    return ReportedQuality(
        rows=told.in_short,
        disagreements=tuple(
            ReportedDisagreement(pair.zone, name_of(pair.parameter), sentence_of(pair)) for pair in told.measured.apart
        ),
        detection=tuple(
            detection_words(
                zero.meter, mid_sentence(name_of(zero.parameter)), zero.limit, zero.unit, zero.rule, zero.makers
            )
            for zero in told.measured.zeros
            if zero.limit is not None
        ),
    )

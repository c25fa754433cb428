"""What lists show of reports, read out of their contents: the rest, up to megabytes each, stays in the database."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields, is_dataclass
from typing import Any, get_args, get_type_hints
from uuid import UUID

from django.db.models import QuerySet
from django.db.models.fields.json import KeyTransform

from campaigns.frozen.records import Codec
from campaigns.models import Campaign
from reports.content.limits import VerdictCount
from reports.content.record import Signature, SignedContent
from reports.models import Report

TALLY, SIGNATURE = Codec(tuple[VerdictCount, ...]), Codec(Signature)


@dataclass(frozen=True, slots=True)
class ReportHead:
    """summary: the sentence on the first criterion, tally: the counts behind it; empty where nothing was judged."""

    key: UUID
    site: str
    campaign: str
    revision: int
    signature: Signature
    summary: str
    tally: tuple[VerdictCount, ...]


def in_content(*path: str | int) -> Any:
    """What stands at this path of a report's content, for ``values`` and ``annotate``. Raises LookupError for a path
    that a SignedContent does not have: whoever renames a field finds out at once."""
    _follow(path)
    whole: Any = "content"
    for step in path:
        whole = KeyTransform(str(step), whole)
    return whole


def _follow(path: Sequence[str | int]) -> None:
    kind: Any = SignedContent
    for step in path:
        if isinstance(step, str):
            if not is_dataclass(kind) or step not in {field.name for field in fields(kind)}:
                raise LookupError(f"{kind} has no {step}")
            kind = get_type_hints(kind)[step]
        else:
            kind = get_args(kind)[0]


#: In the order of the fields of a ReportHead, after its key.
HEAD = (
    in_content("site", "name"),
    in_content("campaign", "name"),
    in_content("revision"),
    in_content("signature"),
    in_content("summary", 0),
    in_content("criteria", 0, "tally"),
)


def heads_of(reports: QuerySet[Report]) -> dict[int, ReportHead]:
    """By id. One query."""
    rows = reports.values_list("pk", "key", *HEAD)
    return {
        pk: ReportHead(key, site, campaign, revision, SIGNATURE.read(signature), summary or "", TALLY.read(tally or []))
        for pk, key, site, campaign, revision, signature, summary, tally in rows
    }


@dataclass(frozen=True, slots=True)
class SignedRevision:
    """report: without its content."""

    report: Report
    signature: Signature


def signed_revisions(campaign: Campaign) -> list[SignedRevision]:
    """Every revision of the campaign, the latest first. One query."""
    rows = campaign.reports.defer("content").annotate(signed=in_content("signature")).order_by("-revision")
    return [SignedRevision(report, SIGNATURE.read(report.signed)) for report in rows]

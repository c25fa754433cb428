"""What lists show of reports, read out of their contents: the rest, up to megabytes each, stays in the database."""

from __future__ import annotations

import logging
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
from reports.models.report import ContentAltered

log = logging.getLogger(__name__)
TALLY, SIGNATURE = Codec(tuple[VerdictCount, ...]), Codec(Signature)


@dataclass(frozen=True, slots=True)
class ReportHead:
    """summary: the sentence on the first criterion, tally: the counts behind it; empty where nothing was judged.
    altered: the content is not what was signed, so nothing that it says is here.
    """

    key: UUID
    site: str
    campaign: str
    revision: int
    signature: Signature
    summary: str
    tally: tuple[VerdictCount, ...]
    altered: bool = False


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
    """By id. Two queries, of which the second reads whole contents: those that this process has not seen yet."""
    rows = list(reports.values_list("pk", "digest", "key", *HEAD))
    altered = _altered(reports, [(pk, signed) for pk, signed, *_ in rows])
    return {pk: _gone(key) if pk in altered else _head(key, *said) for pk, _, key, *said in rows}


def _head(key: UUID, site: str, campaign: str, revision: int, signature: Any, summary: str, tally: Any) -> ReportHead:
    signed, counts = SIGNATURE.read(signature), TALLY.read(tally or [])
    return ReportHead(key, site, campaign, revision, signed, summary or "", counts)


#: (id, digest) of contents that were held against their digests, in the order in which they were.
_proved: dict[tuple[int, str], None] = {}
PROVED_KEPT = 10_000


def _altered(reports: QuerySet[Report], found: Sequence[tuple[int, str]]) -> set[int]:
    new = [pk for pk, signed in found if (pk, signed) not in _proved]
    altered: set[int] = set()
    # One at a time: a content may be megabytes.
    for report in reports.filter(pk__in=new).only("key", "content", "digest").iterator(chunk_size=1):
        try:
            report.prove()
        except ContentAltered as changed:
            log.error("%s", changed.log)
            altered.add(report.pk)
        else:
            _proved[report.pk, report.digest] = None
    while len(_proved) > PROVED_KEPT:
        del _proved[next(iter(_proved))]
    return altered


def _gone(key: UUID) -> ReportHead:
    return ReportHead(key, "", "", 0, Signature("", "", "", "", ""), "", (), altered=True)


def forget() -> None:
    """Prove everything anew: for tests, whose database forgets too."""
    _proved.clear()


@dataclass(frozen=True, slots=True)
class SignedRevision:
    """report: without its content."""

    report: Report
    signature: Signature


def signed_revisions(campaign: Campaign) -> list[SignedRevision]:
    """Every revision of the campaign, the latest first. One query."""
    rows = campaign.reports.defer("content").annotate(signed=in_content("signature")).order_by("-revision")
    return [SignedRevision(report, SIGNATURE.read(report.signed)) for report in rows]

"""A report as it would be released now, to be read before it is signed. Nothing of it is kept."""

from __future__ import annotations

from dataclasses import dataclass
from threading import Lock

from django.db.models import Max
from django.utils import timezone

from campaigns.models import Campaign
from reports.content.changes import changes
from reports.content.record import Signature, SignedContent
from reports.content.stored import digest_of
from reports.pdf import render
from reports.services.freeze import freeze

NOT_SIGNED = "nobody yet"
#: Setting a document takes a processor for seconds: one at a time in a process.
_setting = Lock()


class DraftBusy(Exception):
    """Another draft is being set."""


@dataclass(frozen=True, slots=True)
class Draft:
    """content: with the next revision's number and nobody's signature. digest: of what would be signed, SHA-256 as the
    page of the release shows it."""

    content: SignedContent
    digest: str


def draft_of(campaign: Campaign) -> Draft:
    content = freeze(campaign)
    former = campaign.reports.order_by("-revision").first()
    said = changes(former.record, content) if former and former.client_id == campaign.site.client_id else []
    now = timezone.now().isoformat(timespec="seconds")
    unsigned = SignedContent.of(
        content,
        revision=(campaign.reports.aggregate(last=Max("revision"))["last"] or 0) + 1,
        supersedes=former.revision if former else None,
        changes=tuple(said),
        signature=Signature(name=NOT_SIGNED, organisation=content.organisation, signed_at=now, day="", time=""),
    )
    return Draft(unsigned, digest_of(content))


def draft_pdf(campaign: Campaign) -> bytes:
    """Set anew each time, marked as a draft on every page. Raises DraftBusy while another one is being set."""
    if not _setting.acquire(blocking=False):
        raise DraftBusy
    try:
        draft = draft_of(campaign)
        return render(draft.content, draft=draft.digest)
    finally:
        _setting.release()

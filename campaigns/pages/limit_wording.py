"""What pages say of a limit beside its value: status, reference of its unit, who has seen it in the document."""

from __future__ import annotations

from typing import Any

from campaigns.services.limit_terms import reference_of
from methods.limits.model import LimitDefinition


def status_text(limit: LimitDefinition) -> str:
    """In force, superseded, draft or proposal, with the dates that are known and the row that came after it."""
    dates = [f"from {limit.valid_from:%Y-%m-%d}"] if limit.valid_from else []
    dates += [f"until {limit.valid_to:%Y-%m-%d}"] if limit.valid_to else []
    after = [f"superseded by {limit.superseded_by}"] if limit.superseded_by else []
    return " ".join([limit.status.value.replace("_", " "), *dates, *after])


def reference_text(limit: LimitDefinition) -> str:
    reference = reference_of(limit)
    if reference is None:
        return "none needed for this unit"
    said = "as the document states" if limit.reference_stated else "taken; the document states none"
    return f"{reference.text}, {said}"


def checked_text(limit: LimitDefinition, check: Any) -> str:
    """Whether the number was seen in the document, by whom of the house and when."""
    if check is not None:
        where = f", in edition {check.edition}, page {check.page}" if check.edition else ""
        return f"yes, by {check.by or 'somebody who has left'} on {check.at:%Y-%m-%d}{where}"
    return "no: check against the document" if limit.needs_check else "yes, when it was entered here"

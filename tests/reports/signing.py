"""A content as somebody signs it, without a release."""

from __future__ import annotations

from typing import Any

from reports.content.record import ReportContent, Signature, SignedContent


def signed_content(content: ReportContent, **more: Any) -> SignedContent:
    """As revision 1, on 20 September 2026. ``more``: revision, supersedes or changes."""
    signature = Signature(
        name="C. Lintel",
        organisation=content.organisation,
        signed_at="2026-09-20T10:00:00+00:00",
        day="20 September 2026",
        time="11:00",
    )
    said: dict[str, Any] = {"revision": 1, "supersedes": None, "changes": (), "signature": signature}
    return SignedContent.of(content, **said | more)

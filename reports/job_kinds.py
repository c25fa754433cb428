"""What background work of judging and telling is called in job rows."""

from __future__ import annotations

EVALUATE = "evaluate"
MAKE_PDF = "make-pdf"

"""What background work of collecting is called in job rows."""

from __future__ import annotations

READ_UPLOAD = "read-upload"
REVIEW_CLOCK = "review-clock"

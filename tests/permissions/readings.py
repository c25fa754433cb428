"""Who gets what on the pages of collecting."""

from __future__ import annotations

from tests.permissions.table import CONSULTANT, STAFF, Codes, Row, on

ON_TIMELINE = {"key": "campaign", "instrument": "instrument"}

ROWS = [
    on("uploads", "campaign", STAFF),
    on("upload", "upload", STAFF),
    on("upload-row", "upload", STAFF),
    on("upload-decide", "upload", Codes(302, 404, 404, 302, 302), post={}),
    on("upload-accept", "upload", Codes(302, 404, 404, 302, 302), post={}),
    on("upload-original", "upload", STAFF),
    on("upload-outside", "upload", Codes(302, 404, 404, 302, 302), post={}),
    on("upload-twin", "upload", Codes(302, 404, 404, 302, 302), post={}),
    on("upload-history", "upload", STAFF),
    on("upload-aside", "upload", STAFF),
    on("upload-sheet", "upload", Codes(302, 404, 404, 302, 302), post={}),
    on("upload-again-sheet", "upload", Codes(302, 404, 404, 404, 302), post={}),
    on("upload-again", "upload", CONSULTANT),
    on("upload-again-layout", "upload", CONSULTANT),
    on("upload-again-instrument", "upload", Codes(302, 404, 404, 404, 422), post={}),
    on("upload-again-as-it-is", "upload", Codes(302, 404, 404, 404, 302), post={}),
    on("upload-withdraw", "upload", Codes(302, 404, 404, 404, 422), post={}),
    on("upload-read-in", "upload", Codes(302, 404, 404, 404, 302), post={}),
    on("aside-take-back", "setting_aside", Codes(302, 404, 404, 404, 302), post={}),
    on("instrument-clock", "instrument", STAFF),
    on("clock-confirm", "instrument", Codes(302, 404, 404, 302, 302), post={}),
    on("clock-answer", "instrument", Codes(302, 404, 404, 302, 302), post={}),
    on("clock-lag-settle", "clock_lag", Codes(302, 404, 404, 302, 302), post={}),
    on("clock-reset-withdraw", "clock_reset", Codes(302, 404, 404, 302, 302), post={}),
    on("alerts", "campaign", STAFF),
    on("alert", "alert", STAFF),
    on("alert-acknowledge", "alert", Codes(302, 404, 404, 302, 302), post={}),
    on("alert-note", "alert", Codes(302, 404, 404, 302, 302), post={"done": "aired"}),
    on("alert-close", "alert", Codes(302, 404, 404, 404, 302), post={"reason": "the boiler was shut off"}),
    on("alert-tell", "alert", Codes(302, 404, 404, 302, 302), post={}),
    on("alert-history", "alert", STAFF),
    Row("upload-line", STAFF, {"key": "upload", "line": "line"}),
    on("timeline", "campaign", STAFF),
    Row("timeline-remove", Codes(302, 404, 404, 404, 302), ON_TIMELINE, post={}),
    Row("timeline-trace", STAFF, ON_TIMELINE),
    *(
        Row(f"timeline-{deed}", Codes(302, 404, 404, 302, 302), ON_TIMELINE, post={})
        for deed in ("move", "split", "merge", "create", "accept", "undo", "redo")
    ),
]

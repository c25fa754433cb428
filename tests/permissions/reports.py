"""Who gets what on the pages of judging and telling."""

from __future__ import annotations

from tests.permissions.table import CONSULTANT, OWN_CONSULTANT, OWN_STAFF, STAFF, Codes, Row, kept, on

#: What staff may have once they say what.
ASKS = Codes(302, 404, 404, 400, 400)
#: A consultant's deed, after which one is sent on.
DEED = Codes(302, 404, 404, 404, 302)
#: What was released: staff of the house and people of the client.
RELEASED = Codes(302, 404, 200, 200, 200)
#: A published limit belongs to nobody: whoever works in any house reads it.
PUBLISHED = Codes(302, 200, 404, 200, 200)

CAMPAIGN = [
    on("instrument-fitness", "instrument", STAFF),
    on("campaign", "campaign", STAFF),
    on("judge", "campaign", DEED, post={}),
    Row("zone", STAFF, {"key": "campaign", "zone_key": "zone"}),
    Row("zone-series", STAFF, {"key": "campaign", "zone_key": "zone", "parameter": "parameter"}),
    *(
        Row(f"zone-{view}", STAFF, {"key": "campaign", "zone_key": "zone", "parameter": "parameter"})
        for view in ("spread", "outdoor", "conditions", "together", "points")
    ),
    # A part of a figure and readings are of something that must be named: without it they are bad requests.
    Row("zone-range", ASKS, {"key": "campaign", "zone_key": "zone", "figure": "figure", "parameter": "parameter"}),
    Row("zone-readings", ASKS, {"key": "campaign", "zone_key": "zone"}),
    on("results-workbook", "campaign", STAFF),
    on("result", "result", STAFF),
]

CRITERIA = [
    on("criteria", "campaign", STAFF),
    on("plan-fitness", "campaign", STAFF),
    on("criterion-add", "campaign", DEED, post={}),
    on("criterion-move", "criterion", DEED, post={"direction": "up"}),
    on("criterion-remove", "criterion", DEED, post={}),
]

LIMITS = [
    Row("limits", OWN_STAFF),
    Row("limit-add", OWN_CONSULTANT),
    on("limit", "published_limit", PUBLISHED),
    on("limit-check", "published_limit", Codes(302, 302, 404, 404, 302), post={}),
    on("limit-edit", "own_limit", CONSULTANT),
    on("limit-delete", "own_limit", CONSULTANT),
    on("limit-history", "own_limit", STAFF),
]

OVERVIEW = [
    on("side-by-side", "campaign", STAFF),
    on("summaries", "campaign", STAFF),
    on("quality", "campaign", STAFF),
    on("exposure-groups", "campaign", STAFF),
    on("exposure-group-add", "campaign", CONSULTANT),
    on("exposure-group", "exposure_group", STAFF),
    *kept("exposure-group", "exposure_group"),
]

RELEASE = [
    on("report", "campaign", CONSULTANT),
    on("report-draft", "campaign", CONSULTANT),
    Row("report-draft-zone", CONSULTANT, {"key": "campaign", "zone": "zone"}),
    on("report-draft-pdf", "campaign", CONSULTANT),
    on("report-release", "campaign", Codes(302, 404, 404, 404, 422), post={}),
    on("report-clock", "campaign", Codes(302, 404, 404, 404, 302), post={}),
    on("report-agreement", "campaign", Codes(302, 404, 404, 404, 302), post={}),
    on("report-editions", "campaign", Codes(302, 404, 404, 404, 302), post={}),
    on("report-withdraw", "report", CONSULTANT),
    on("readers", "campaign", CONSULTANT),
    Row("reader-link", CONSULTANT, {"key": "campaign", "reader": "reader"}),
    on("report-pdf", "report", RELEASED),
    Row("released", Codes(302, 200, 200, 200, 200)),
    on("released-report", "report", RELEASED),
    on("report-content", "report", RELEASED),
    Row("released-zone", RELEASED, {"key": "report", "zone": "zone"}),
]

ROWS = [*CAMPAIGN, *CRITERIA, *LIMITS, *OVERVIEW, *RELEASE]

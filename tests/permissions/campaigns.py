"""Who gets what on the planning pages."""

from __future__ import annotations

from tests.permissions.table import (
    CONSULTANT,
    EVERYBODY,
    LOGGED_IN,
    OWN_CONSULTANT,
    OWN_STAFF,
    STAFF,
    Codes,
    Row,
    added,
    kept,
    on,
)

ACCOUNT = [
    Row("home", Codes(302, 302, 302, 302, 302)),
    Row("login", Codes(200, 302, 302, 302, 302)),
    Row("logout", Codes(302, 302, 302, 302, 302), post={}),
    Row("password-change", LOGGED_IN),
    Row("password-set", EVERYBODY, {"uidb64": "uid", "token": "wrong_token"}),
]

PLACES = [
    Row("sites", OWN_STAFF),
    Row("site-add", OWN_CONSULTANT),
    on("site", "site", STAFF),
    *kept("site", "site"),
    on("building-add", "site", CONSULTANT),
    on("outdoor-point-add", "site", CONSULTANT),
    *kept("building", "building"),
    on("floor-add", "building", CONSULTANT),
    *kept("floor", "floor"),
    on("zone-add", "floor", CONSULTANT),
    *kept("zone", "zone"),
    on("room-add", "zone", CONSULTANT),
    on("rooms-add", "zone", CONSULTANT),
    *kept("room", "room"),
    on("point-add", "room", CONSULTANT),
    *kept("point", "point"),
]

FLOOR_PLANS = [
    on("floor-plan", "floor", STAFF),
    on("floor-plan-data", "floor", STAFF),
    # Nothing was sent, so the answer to those who may is that it cannot be read, or that there is nothing to split.
    on("floor-plan-save", "floor", Codes(302, 404, 404, 404, 400), post={}),
    on("floor-plan-split", "floor", Codes(302, 404, 404, 404, 400), post={}),
    on("floor-plan-image", "floor", STAFF),
    on("floor-plan-image-add", "floor", CONSULTANT),
    on("floor-plan-image-remove", "floor", Codes(302, 404, 404, 404, 302), post={}),
    on("rooms-import", "floor", CONSULTANT),
]

INSTRUMENTS = [
    Row("instrument-types", OWN_STAFF),
    Row("instrument-type-add", OWN_CONSULTANT),
    on("instrument-type", "instrument_type", STAFF),
    *kept("instrument-type", "instrument_type"),
    on("channel-add", "instrument_type", CONSULTANT),
    *kept("channel", "channel_spec"),
    Row("instruments", OWN_STAFF),
    Row("instrument-add", OWN_CONSULTANT),
    on("instrument", "instrument", STAFF),
    *kept("instrument", "instrument"),
    on("calibration-add", "instrument", CONSULTANT),
    *kept("calibration", "calibration"),
    on("field-check-add", "instrument", STAFF),
    *added("field-check", "field_check"),
    on("field-check-accept", "field_check", STAFF),
    on("clock-check-add", "instrument", STAFF),
    *added("clock-check", "clock_check"),
]

PLANS = [
    Row("campaigns", OWN_STAFF),
    on("campaign-add", "site", CONSULTANT),
    *kept("campaign", "campaign"),
    on("plan", "campaign", STAFF),
    on("deployments", "campaign", STAFF),
    on("deployment-add", "campaign", STAFF),
    *added("deployment", "deployment"),
]

USE = [
    on("use", "campaign", STAFF),
    *(on(f"{place}-use-add", place, CONSULTANT) for place in ("campaign", "building", "zone")),
    *(
        on(f"{place}-use-assume", place, Codes(302, 404, 404, 404, 302), post={})
        for place in ("campaign", "building", "zone")
    ),
    *kept("use-timetable", "use_timetable"),
]

#: What was offered to the client: staff of the house and people of this client.
OFFERED = Codes(302, 404, 200, 200, 200)
#: Answers are of people of the client alone; without the tick or the comment there is none.
ANSWER = Codes(302, 404, 422, 404, 404)

AGREEMENTS = [
    on("agreement", "campaign", STAFF),
    # A draft is there already, so it leads there.
    on("agreement-add", "campaign", Codes(302, 404, 404, 404, 302)),
    *kept("agreement", "agreement_draft"),
    on("agreement-offer", "agreement_draft", Codes(302, 404, 404, 404, 302), post={}),
    on("agreement-record", "agreement", CONSULTANT),
    on("client-agreement", "agreement", OFFERED),
    on("client-agreement-accept", "agreement", ANSWER, post={}),
    on("client-agreement-decline", "agreement", ANSWER, post={}),
]

ALERT_LEVELS = [
    on("alert-levels", "campaign", STAFF),
    on("alert-level-add", "campaign", CONSULTANT),
    on("alert-level-choose", "campaign", Codes(302, 404, 404, 404, 302), post={"level": "CO2-5000"}),
    on("alert-level-edit", "alert_level", CONSULTANT),
    on("alert-level-switch", "alert_level", Codes(302, 404, 404, 404, 302), post={"on": "no"}),
    on("alert-level-history", "alert_level", STAFF),
]

QUALITY = [
    on("quality-run-add", "campaign", STAFF),
    *added("quality-run", "quality_run"),
    on("acceptance", "campaign", CONSULTANT),
    on("acceptance-usual", "campaign", Codes(302, 404, 404, 404, 302), post={}),
]

PEOPLE = [
    Row("clients", OWN_STAFF),
    Row("client-add", OWN_CONSULTANT),
    *kept("client", "client"),
    Row("people", OWN_CONSULTANT),
    Row("person-add", OWN_CONSULTANT),
    Row("people-history", OWN_CONSULTANT),
    on("person-edit", "membership", CONSULTANT),
    on("person-delete", "membership", CONSULTANT),
    on("person-history", "membership", CONSULTANT),
    on("person-link", "membership", CONSULTANT),
    Row("tokens", OWN_CONSULTANT),
    Row("token-add", OWN_CONSULTANT),
    on("token-delete", "token", CONSULTANT),
]

WORK = [
    Row("jobs", OWN_STAFF),
    on("job-row", "job", STAFF),
    on("job-acknowledge", "job", Codes(302, 404, 404, 302, 302), post={}),
    on("job-again", "job", Codes(302, 404, 404, 302, 302), post={}),
]

ROWS = [
    *ACCOUNT, *PLACES, *FLOOR_PLANS, *INSTRUMENTS, *PLANS, *USE, *AGREEMENTS, *ALERT_LEVELS, *QUALITY, *PEOPLE, *WORK,
]  # fmt: skip

"""Who gets what through the API: nobody by a login. What a token may read is tested in tests/api."""

from __future__ import annotations

from tests.permissions.table import EVERYBODY, Codes, Row, on

TOKENS_ONLY = Codes(401, 401, 401, 401, 401)


def endpoint(name: str, thing: str) -> list[Row]:
    return [Row(f"api-{name}-list", TOKENS_ONLY), on(f"api-{name}-detail", thing, TOKENS_ONLY)]


ROWS = [
    Row("api-root", TOKENS_ONLY),
    Row("api-schema", TOKENS_ONLY),
    *endpoint("site", "site"),
    *endpoint("building", "building"),
    *endpoint("floor", "floor"),
    *endpoint("zone", "zone"),
    *endpoint("room", "room"),
    *endpoint("point", "point"),
    *endpoint("instrument", "instrument"),
    *endpoint("campaign", "campaign"),
    *endpoint("deployment", "deployment"),
    *endpoint("upload", "upload"),
    on("api-upload-problems", "upload", TOKENS_ONLY),
    Row("api-reading-list", TOKENS_ONLY),
    *endpoint("criterion", "criterion"),
    *endpoint("result", "result"),
    *endpoint("finding", "finding"),
    *endpoint("report", "report"),
    # Load balancers ask it, without a login; it tells nothing about anybody's work.
    Row("health", EVERYBODY),
    Row("ready", Codes(503, 503, 503, 503, 503)),  # no worker beats in these tests
    Row("metrics", Codes(404, 404, 404, 404, 404)),  # whoever has its own token: tests/config/test_metrics.py
]

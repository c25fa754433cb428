"""Pages of a large campaign: how long they take, and how many queries they ask.

200 rooms drawn on four floors, 2 M readings. What is timed goes through the WSGI application in this process, as a web
server calls it: routing, middleware, session, queries, templates; no socket. The counts must be those of
``queries.json``, which tests hold against houses of two and of six rooms: a page that asks more for a larger house is
noticed before it is slow.
"""

from __future__ import annotations

import json
import time
from collections.abc import Callable
from http.cookies import SimpleCookie
from pathlib import Path
from typing import TYPE_CHECKING, Any

from tests.bench.stage import Score, database

if TYPE_CHECKING:
    from tests.bench.house import BenchHouse

#: Made anew by ``python -m tests.bench.pages > tests/bench/queries.json``.
COMMITTED = Path(__file__).with_name("queries.json")
REQUESTS = 60
LIMIT_MS = 150.0
#: What the page of the campaign asks of itself, and what a person of the client opens; all others are a consultant's.
PARTS = frozenset({"campaign, its part by another criterion"})
CLIENTS = frozenset({"client's report", "client's zone"})


def login(house: BenchHouse, role: str = "consultant") -> Any:
    """A browser of somebody with this role, of the client where it is one of the client."""
    from django.test import Client

    from campaigns.models import Membership
    from tests import factories as make

    user, site = make.UserFactory(), house.campaign.site
    client = site.client if role == "client" else None
    Membership.objects.create(user=user, organisation=site.organisation, role=role, client=client)
    browser = Client()
    browser.force_login(user)
    return browser


def logins(house: BenchHouse) -> dict[str, Any]:
    """By name of a page, who opens it."""
    consultant, client = login(house), login(house, "client")
    return {name: client if name in CLIENTS else consultant for name in addresses(house)}


def addresses(house: BenchHouse, zone_at: int = 0) -> dict[str, str]:
    """The pages by name, of one zone. The house must have been judged and released."""
    from django.urls import reverse

    here = [house.campaign.key, house.zones[zone_at % len(house.zones)].key]
    figures = {f"zone {name}": f"zone-{name}" for name in ("series", "spread", "conditions")}
    campaign = reverse("campaign", args=here[:1])
    last = house.campaign.criteria.order_by("-position")[0]
    report = house.campaign.reports.defer("content").get()
    return {
        "campaign": campaign,
        "campaign, its part by another criterion": f"{campaign}?criterion={last.key}",
        "zone": reverse("zone", args=here),
        **{name: reverse(route, args=[*here, "formaldehyde"]) for name, route in figures.items()},
        "client's report": reverse("released-report", args=[report.key]),
        "client's zone": reverse("released-zone", args=[report.key, here[1]]),
    }


def headers(name: str) -> dict[str, str]:
    return {"HX-Request": "true"} if name in PARTS else {}


def counts(house: BenchHouse, browsers: dict[str, Any]) -> dict[str, int]:
    """Queries of each page at its second request: what is read once per process is no part of it."""
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    found = {}
    for name, address in addresses(house).items():
        get = browsers[name].get
        assert get(address, headers=headers(name)).status_code == 200
        with CaptureQueriesContext(connection) as asked:
            get(address, headers=headers(name))
        found[name] = len(asked)
    return found


def served(browser: Any) -> Callable[[str, dict[str, str]], int]:
    """Asks for an address as a web server does and returns the status. Not the test client itself: it copies the
    context of every template that is rendered, which costs as much as many a page."""
    from django.test import RequestFactory

    from config.wsgi import application

    kept: SimpleCookie = SimpleCookie()
    kept.load(browser.cookies.output(header="", sep=";"))

    def get(address: str, more: dict[str, str]) -> int:
        factory = RequestFactory(HTTP_COOKIE="; ".join(f"{m.key}={m.value}" for m in kept.values()))
        answer: Any = application(factory.get(address, headers=more).environ, lambda *_: lambda _: None)
        for _ in answer:
            pass
        answer.close()
        return int(answer.status_code)

    return get


def p95_ms(house: BenchHouse, browser: Any, name: str) -> tuple[float, float]:
    """Of ``REQUESTS`` requests, each for another zone: on the clock, and of this process's processor time."""
    wall, cpu, get = [], [], served(browser)
    asked = [addresses(house, n)[name] for n in range(REQUESTS)]
    assert get(asked[0], headers(name)) == 200
    for address in asked:
        start, used = time.perf_counter(), time.process_time()
        assert get(address, headers(name)) == 200
        wall.append(time.perf_counter() - start)
        cpu.append(time.process_time() - used)
    at = -(-95 * REQUESTS // 100) - 1
    return 1000 * sorted(wall)[at], 1000 * sorted(cpu)[at]


def rows_of(house: BenchHouse, vendor: str) -> list[Score]:
    from tests.bench.house import release

    release(house)
    browsers = logins(house)
    asked, committed = counts(house, browsers), json.loads(COMMITTED.read_text(encoding="utf-8"))
    rows = []
    for name, count in asked.items():
        wall, cpu = p95_ms(house, browsers[name], name)
        found = f"{wall:.0f} ms ({cpu:.0f} ms CPU)"
        rows.append(Score(f"{name}, p95 of {REQUESTS} requests", vendor, found, "<= 150 ms", wall <= LIMIT_MS))
        same = count == committed[name]
        rows.append(Score(f"{name}, queries", vendor, str(count), f"= {committed[name]}", same))
    return rows


def main() -> None:
    """The counts of the smallest house as JSON, to be committed."""
    with database():
        from tests.bench.house import SMALL, build, judge, release

        small = build(SMALL)
        judge(small)
        release(small)
        print(json.dumps(counts(small, logins(small)), indent=2))


if __name__ == "__main__":
    main()

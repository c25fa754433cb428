"""Pages of a large campaign: how long they take, and how many queries they ask.

200 rooms, 2 M readings. Requests go through Django's test client, in this process: routing, middleware, session,
queries, templates; no socket. The counts must be those of ``queries.json``, which tests hold against houses of two and
of six rooms: a page that asks more for a larger house is noticed before it is slow.
"""

from __future__ import annotations

import json
import time
from pathlib import Path
from typing import TYPE_CHECKING, Any

from tests.bench.stage import Row, database

if TYPE_CHECKING:
    from tests.bench.house import House

#: Made anew by ``python -m tests.bench.pages > tests/bench/queries.json``.
COMMITTED = Path(__file__).with_name("queries.json")
REQUESTS = 60
LIMIT_MS = 150.0


def login(house: House) -> Any:
    """A consultant's browser."""
    from django.test import Client

    from campaigns.models import Membership, Role
    from tests import factories as make

    user = make.UserFactory()
    organisation = house.campaign.site.organisation
    Membership.objects.create(user=user, organisation=organisation, role=Role.CONSULTANT)
    client = Client()
    client.force_login(user)
    return client


def addresses(house: House, zone_at: int = 0) -> dict[str, str]:
    """The pages by name, of one zone."""
    from django.urls import reverse

    here = [house.campaign.key, house.zones[zone_at % len(house.zones)].key]
    figures = {f"zone {name}": f"zone-{name}" for name in ("series", "spread", "conditions")}
    return {
        "campaign": reverse("campaign", args=here[:1]),
        "zone": reverse("zone", args=here),
        **{name: reverse(route, args=[*here, "formaldehyde"]) for name, route in figures.items()},
    }


def counts(house: House, client: Any) -> dict[str, int]:
    """Queries of each page at its second request: what is read once per process is no part of it."""
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    found = {}
    for name, address in addresses(house).items():
        assert client.get(address).status_code == 200
        with CaptureQueriesContext(connection) as asked:
            client.get(address)
        found[name] = len(asked)
    return found


def p95_ms(house: House, client: Any, name: str) -> tuple[float, float]:
    """Of ``REQUESTS`` requests, each for another zone: on the clock, and of this process's processor time."""
    wall, cpu = [], []
    for n in range(REQUESTS):
        address = addresses(house, n)[name]
        start, used = time.perf_counter(), time.process_time()
        assert client.get(address).status_code == 200
        wall.append(time.perf_counter() - start)
        cpu.append(time.process_time() - used)
    at = -(-95 * REQUESTS // 100) - 1
    return 1000 * sorted(wall)[at], 1000 * sorted(cpu)[at]


def rows_of(house: House, vendor: str) -> list[Row]:
    client = login(house)
    asked, committed = counts(house, client), json.loads(COMMITTED.read_text(encoding="utf-8"))
    rows = []
    for name, count in asked.items():
        wall, cpu = p95_ms(house, client, name)
        found = f"{wall:.0f} ms ({cpu:.0f} ms CPU)"
        rows.append(Row(f"{name}, p95 of {REQUESTS} requests", vendor, found, "<= 150 ms", wall <= LIMIT_MS))
        same = count == committed[name]
        rows.append(Row(f"{name}, queries", vendor, str(count), f"= {committed[name]}", same))
    return rows


def main() -> None:
    """The counts of the smallest house as JSON, to be committed."""
    with database():
        from tests.bench.house import SMALL, build, judge

        small = build(SMALL)
        judge(small)
        print(json.dumps(counts(small, login(small)), indent=2))


if __name__ == "__main__":
    main()

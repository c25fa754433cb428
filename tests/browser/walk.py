"""Walking the whole house by its links, one address of each kind of page."""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator
from urllib.parse import urlsplit

from django.urls import Resolver404, resolve
from playwright.sync_api import Page, Response, expect

#: Parts that load by themselves are gone once they are there.
LOADING = "[hx-trigger=load]"
#: What answers with a file, or takes away what the walk needs.
NOT_PAGES = frozenset({"logout", "report-pdf"})
#: Of what is asked in an address only the view counts: another criterion is the same kind of page.
LINKS = """links => links.filter(a => a.origin === location.origin).map(a => {
  const view = new URLSearchParams(a.search).get("view");
  return a.pathname + (view ? `?view=${view}` : "");
})"""


def route_of(url: str) -> str:
    try:
        return resolve(urlsplit(url).path).view_name
    except Resolver404:
        return ""


def links_on(page: Page) -> list[str]:
    """Addresses of this house that the page leads to; files to download are none of them."""
    found: list[str] = page.eval_on_selector_all("a[href]:not([download])", LINKS)
    return found


def walk(page: Page) -> Iterator[tuple[str, Response]]:
    """Go to one page of each route, and of each of its views, that links lead to.

    Yields (route, answer) while the page shows it. It begins at the front page; "/findings/" is where staff see what
    the client sees.
    """
    seen: set[tuple[str, str]] = set()
    waiting = deque(["/", "/findings/"])
    while waiting:
        url = waiting.popleft()
        route = route_of(url)
        kind = (route, urlsplit(url).query)
        if not route or kind in seen or route in NOT_PAGES or ":" in route:
            continue
        seen.add(kind)
        answer = page.goto(url)
        if answer is None or "text/html" not in answer.headers.get("content-type", ""):
            continue
        expect(page.locator(LOADING)).to_have_count(0)
        yield route, answer
        waiting.extend(links_on(page))

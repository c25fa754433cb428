"""What every page carries, and what no page contains: the content policy is only worth what the pages keep to."""

from __future__ import annotations

from html.parser import HTMLParser
from typing import Any, ClassVar

import pytest
from django.conf import LazySettings
from django.db import transaction
from django.test import Client
from django.urls import reverse

from campaigns.models import User
from config.security import POLICY
from tests.permissions.test_routes import TABLE, address
from tests.permissions.world import World, world

__all__ = ["world"]
pytestmark = pytest.mark.django_db

#: Attributes through which a page loads something by itself. What a person follows by clicking is not among them.
LOADS = {
    "script": "src",
    "link": "href",
    "img": "src",
    "iframe": "src",
    "source": "src",
    "form": "action",
    "use": "href",
}


class PolicedPage(HTMLParser):
    """Collects what a strict content policy would refuse, and what would be fetched from elsewhere."""

    DATA: ClassVar[set[str]] = {"application/json", "application/ld+json"}

    def __init__(self, text: str) -> None:
        super().__init__()
        self.refused: list[str] = []
        self.elsewhere: list[str] = []
        self.loaded: list[str] = []
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = {name: value or "" for name, value in attrs}
        if tag == "style" or (tag == "script" and "src" not in given and given.get("type") not in self.DATA):
            self.refused.append(f"<{tag}>")
        for name, value in given.items():
            if name == "style" or name.startswith("on") or value.strip().lower().startswith("javascript:"):
                self.refused.append(f"<{tag} {name}={value!r}>")
        loaded = given.get(LOADS.get(tag, ""), "")
        if tag in ("script", "link", "img") and loaded:
            self.loaded.append(loaded)
        if loaded.startswith(("http:", "https:", "//")):
            self.elsewhere.append(f"<{tag} {loaded}>")


class TestParser:
    """The parser sees what it is there to see."""

    @pytest.mark.parametrize(
        "bad",
        [
            "<p style='color:red'>", "<style>p{}</style>", "<script>1</script>", "<script type=module>1</script>",
            "<button onclick='x()'>", "<svg ONLOAD=x>", "<a href='javascript:x'>", "<a href=' JavaScript:x'>",
        ],
    )  # fmt: skip
    def test_refused(self, bad: str) -> None:
        assert len(PolicedPage(bad).refused) == 1

    @pytest.mark.parametrize(
        "good",
        ["<script src=/a.js></script>", '<script type="application/json">{}</script>', "<a href=/x>", "<p once>"],
    )
    def test_kept(self, good: str) -> None:
        assert PolicedPage(good).refused == ([] if "once" not in good else ["<p once=''>"])

    def test_elsewhere(self) -> None:
        assert PolicedPage("<script src=//cdn.example/x.js></script>").elsewhere == ["<script //cdn.example/x.js>"]
        assert PolicedPage("<img src=https://x.example/p.png>").elsewhere == ["<img https://x.example/p.png>"]
        assert PolicedPage("<a href=https://y.example>, <img src=/p.png>").elsewhere == []


@pytest.fixture
def served(settings: LazySettings) -> None:
    """Static files, which other tests do without."""
    settings.WHITENOISE_USE_FINDERS = True


class TestHeaders:
    @pytest.fixture(params=["/login/", "/health/", "/nowhere/", "/api/v1/sites/"])
    def answer(self, client: Client, request: pytest.FixtureRequest) -> Any:
        return client.get(request.param)

    def test_the_content_policy(self, answer: Any) -> None:
        assert answer["Content-Security-Policy"] == POLICY
        assert "unsafe" not in POLICY
        assert "http" not in POLICY
        assert "default-src 'self'" in POLICY
        assert "frame-ancestors 'none'" in POLICY

    def test_nothing_is_kept_or_guessed_or_framed(self, answer: Any) -> None:
        assert {"private", "no-store"} <= set(answer["Cache-Control"].split(", "))
        assert answer["X-Content-Type-Options"] == "nosniff"
        assert answer["X-Frame-Options"] == "DENY"
        assert answer["Referrer-Policy"] == "same-origin"
        assert answer["Cross-Origin-Opener-Policy"] == "same-origin"

    def test_static_files_may_be_kept(self, client: Client, served: None) -> None:
        answer = client.get("/static/css/fanlight.css")
        assert answer.status_code == 200
        assert "no-store" not in answer.get("Cache-Control", "")
        assert answer["Content-Security-Policy"] == POLICY

    def test_an_unknown_host_is_refused(self, client: Client) -> None:
        assert client.get("/login/", headers={"Host": "evil.example"}).status_code == 400


class TestCookies:
    def test_scripts_do_not_see_the_session(self, client: Client, consultant: User) -> None:
        consultant.set_password("a long enough word")
        consultant.save()
        answer = client.post(reverse("login"), {"username": consultant.email, "password": "a long enough word"})
        assert answer.status_code == 302
        session = answer.cookies["sessionid"]
        assert session["httponly"] is True
        assert session["samesite"] == "Lax"

    def test_they_are_for_https_alone_where_there_is_https(self, client: Client, settings: LazySettings) -> None:
        settings.CSRF_COOKIE_SECURE = True
        assert client.get("/login/").cookies["csrftoken"]["secure"] is True


class TestPagesUnderPolicy:
    @pytest.mark.history
    @pytest.mark.parametrize("who", ["consultant", "client_person"])
    def test_every_page_keeps_to_the_policy(self, world: World, who: str, settings: LazySettings) -> None:
        """All addresses that the table of permissions knows, as somebody who may see them."""
        client, seen, wrong = Client(), 0, []
        client.force_login(world[who])
        for row in TABLE:
            if row.post is not None:
                continue
            with transaction.atomic():
                answer: Any = client.get(address(row, world))
                transaction.set_rollback(True)
            if not answer["Content-Type"].startswith("text/html") or answer.streaming:
                continue
            page = PolicedPage(answer.content.decode())
            seen += answer.status_code == 200
            wrong += [f"{row.route}: {what}" for what in (*page.refused, *page.elsewhere)]
        assert wrong == []
        assert seen > (30 if who == "consultant" else 2)

    def test_pages_for_errors_keep_to_it_too(self, client: Client, settings: LazySettings) -> None:
        settings.UPLOAD_MAX_BYTES = 1
        missing = client.get("/nowhere/")
        large = client.generic("POST", "/login/", b"x", CONTENT_LENGTH="99999999")
        forged = Client(enforce_csrf_checks=True).post("/login/", {})
        assert [a.status_code for a in (missing, large, forged)] == [404, 413, 403]
        for answer in (missing, large, forged):
            page = PolicedPage(answer.content.decode())
            assert (page.refused, page.elsewhere) == ([], [])
            assert "<h1" in answer.content.decode()


@pytest.mark.usefixtures("served")
class TestPackages:
    """Scripts of others come from installed packages, not from a network of somebody else."""

    @staticmethod
    def body(client: Client, path: str) -> bytes:
        answer: Any = client.get(path)
        assert answer.status_code == 200, path
        return b"".join(answer.streaming_content) if answer.streaming else bytes(answer.content)

    def test_what_the_frame_of_all_pages_loads_is_served_from_here(self, client: Client) -> None:
        page = PolicedPage(client.get("/login/").content.decode())
        assert page.elsewhere == []
        assert any("htmx" in path for path in page.loaded)
        assert len(page.loaded) >= 4
        for path in page.loaded:
            assert len(self.body(client, path)) > 200, path

    def test_styles_and_scripts_of_ours_fetch_nothing_elsewhere(self, settings: LazySettings) -> None:
        """Comments may name a document; what is fetched may not be named by a whole address."""
        for path in (settings.BASE_DIR / "static").rglob("*"):
            if path.suffix in (".css", ".js", ".svg", ".webmanifest"):
                text = path.read_text().replace("http://www.w3.org/", "")  # names of XML vocabularies are not fetched
                for word in ("http://", "https://", "url(//", "@import"):
                    assert word not in text, f"{path.name}: {word}"

    def test_plotly_is_the_version_that_draws_the_figures(self, client: Client) -> None:
        import plotly.offline

        assert self.body(client, "/static/plotly/plotly.min.js").decode() == plotly.offline.get_plotlyjs()

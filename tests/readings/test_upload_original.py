"""The original as it came: for keeping, never for opening in the browser."""

from __future__ import annotations

from email.message import EmailMessage
from typing import Any
from urllib.parse import unquote

import pytest
from django.test import Client

from campaigns.models import Campaign, User
from readings.models import Upload
from readings.services.receive import display_name
from tests.readings.doing import hand_in
from tests.readings.pages import Browse, at

BYTES = b"\xef\xbb\xbfa;b\r\n<script>alert(1)</script>\x00\xff"


@pytest.fixture
def browser(browse: Browse, field_staff: User) -> Client:
    return browse(field_staff)


def fetch(browser: Client, upload: Upload) -> Any:
    return browser.get(at("upload-original", upload))


def name_offered(answer: Any) -> str:
    """The file name as a browser takes it from the header (RFC 6266; ``filename*`` is RFC 5987)."""
    header = EmailMessage()
    header["Content-Disposition"] = answer["Content-Disposition"]
    assert header.get_content_disposition() == "attachment"
    name = header.get_filename()
    assert name is not None
    return unquote(name)


def test_byte_for_byte(campaign: Campaign, browser: Client) -> None:
    answer = fetch(browser, hand_in(campaign, BYTES, "page.html"))
    assert b"".join(answer.streaming_content) == BYTES
    assert answer["Content-Length"] == str(len(BYTES))


def test_never_shown_in_the_browser(campaign: Campaign, browser: Client) -> None:
    """Whatever the file calls itself: RFC 2046's type for what nothing is known of, and no sniffing."""
    answer = fetch(browser, hand_in(campaign, BYTES, "page.html"))
    assert answer["Content-Type"] == "application/octet-stream"
    assert answer["Content-Disposition"].startswith("attachment;")
    assert answer["X-Content-Type-Options"] == "nosniff"
    assert "default-src 'self'" in answer["Content-Security-Policy"]
    assert answer["Cache-Control"] == "private, no-store"


@pytest.mark.parametrize("who", ["stranger", "client_person"])
def test_nothing_for_others(campaign: Campaign, browse: Browse, who: str, request: pytest.FixtureRequest) -> None:
    upload = hand_in(campaign, BYTES)
    answer = browse(request.getfixturevalue(who)).get(at("upload-original", upload))
    assert answer.status_code == 404
    assert upload.sha256 not in answer.content.decode()


def test_the_anonymous_are_asked_to_log_in(campaign: Campaign, browse: Browse) -> None:
    answer = browse(None).get(at("upload-original", hand_in(campaign, BYTES)))
    assert answer.status_code == 302
    assert answer["Location"].startswith("/login/")


NAMES = {
    "week 38.csv": "week 38.csv",
    "../../etc/passwd": "passwd",
    "..\\..\\windows\\log.csv": "log.csv",
    "rooms/first floor/log.csv": "log.csv",
    'say "hello".csv': 'say "hello".csv',
    "it's.csv": "it's.csv",
    "a\r\nSet-Cookie: x=1.csv": "aSet-Cookie: x=1.csv",
    "null\x00byte.csv": "nullbyte.csv",
    "next\x85line.csv": "nextline.csv",
    "gnp\u202evsc.exe": "gnpvsc.exe",
    "Messwerte Küche µg∕m³.csv": "Messwerte Küche µg∕m³.csv",
    "空気.csv": "空気.csv",
    "semi;colon=x.csv": "semi;colon=x.csv",
    "   ": "unnamed",
    "": "unnamed",
    "folder/": "unnamed",
    ".": "unnamed",
    "..": "unnamed",
    "n" * 300: "n" * 255,
}


@pytest.mark.parametrize(("name", "shown"), NAMES.items(), ids=ascii)
def test_a_name_is_only_a_name(name: str, shown: str) -> None:
    assert display_name(name) == shown


@pytest.mark.parametrize("name", [n for n, shown in NAMES.items() if shown != "unnamed"], ids=ascii)
def test_a_hostile_name_does_no_harm(campaign: Campaign, browser: Client, name: str) -> None:
    upload = hand_in(campaign, BYTES, name)
    answer = fetch(browser, upload)
    assert name_offered(answer) == upload.filename
    assert "\n" not in answer["Content-Disposition"]
    assert not answer.cookies
    assert browser.get(at("upload", upload)).status_code == 200


def test_where_it_is_kept_says_nothing_of_its_name(campaign: Campaign) -> None:
    upload = hand_in(campaign, BYTES, "../../../escape.csv")
    assert upload.original.name is not None
    assert upload.original.name.startswith(f"originals/{upload.sha256[:2]}/{upload.sha256}-")
    assert "escape" not in upload.original.name


def test_an_original_that_is_gone(campaign: Campaign, browser: Client) -> None:
    upload = hand_in(campaign, BYTES)
    Upload.objects.get(pk=upload.pk).original.delete(save=False)  # the bytes, not the row
    assert fetch(browser, upload).status_code == 404
    assert browser.get(at("upload", upload)).status_code == 200
    assert browser.get(at("upload-line", upload, 1)).status_code == 404

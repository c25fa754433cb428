"""Uploaded files are hostile: whatever is in them, the page that shows them stands."""

from __future__ import annotations

import gzip
import io
import random
import zipfile
from itertools import product

import pytest
from django.test import Client
from django.utils.html import escape

from campaigns.models import Campaign, Instrument
from readings.models import Upload
from tests.layouts.files import AMBIGUOUS, NO_UNIT, a_log, a_workbook, at, say, shown, stored
from tests.readings.doing import hand_in, read
from tests.readings.pages import text

SCRIPT = "<script>alert(1)</script>"


def zipped(**members: bytes) -> bytes:
    kept = io.BytesIO()
    with zipfile.ZipFile(kept, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in members.items():
            archive.writestr(name.replace("__", "."), content)
    return kept.getvalue()


MANY = 300
WIDE = "time," + ",".join(f"HCHO {k}" for k in range(MANY))
FILES: dict[str, bytes | str] = {
    "a picture": b"\x89PNG\r\n\x1a\n" + bytes(range(256)) * 9,
    "noise": random.Random(7).randbytes(20_000),
    "zeros": b"\0" * 5_000,
    "one endless line": b"1," * 700_000,
    "a bomb": gzip.compress(b"0" * 120_000_000),
    "a workbook that is none": zipped(**{"[Content_Types]__xml": b"<a/>", "xl/workbook__xml": b"<!DOCTYPE x>"}),
    "half a workbook": a_workbook()[:3000],
    "half a gzip": gzip.compress(NO_UNIT.encode() * 50)[:60],
    "names that are scripts": NO_UNIT.replace("HCHO", f'"HCHO {SCRIPT}"'),
    "cells that are scripts": a_log("2026-09-15 09:00,0.031", f"2026-09-15 09:01,{SCRIPT}", head="time,HCHO"),
    "three hundred columns": a_log(*(f"2026-09-15 09:0{k}" + ",0.03" * MANY for k in range(5)), head=WIDE),
    "more columns than a log has": a_log(*(f"2026-09-15 09:0{k}" + ",0.03" * 5000 for k in range(5)), head="time"),
    "a cell as long as a page": NO_UNIT + "2026-09-15 09:05," + "x" * 50_000 + "\n",
    "sixty kinds and more": a_log(
        *(f"2026-09-15 09:00,kind {k},{k}.5" for k in range(200)),
        *("2026-09-15 09:00,HCHO,1.5", "2026-09-15 09:01,CO2,3.5") * 60,
        head="time,parameter,value",
    ),
    "keys within keys": '{"time": "2026-09-15T09:00:00", "hcho": 0.03}\n' * 3 + '{"a":' * 900 + "1" + "}" * 900 + "\n",
    "keys and values of half characters": "".join(
        f'{{"time": "2026-09-15 09:0{k}:00", "HCHO \\ud800 ppm": 0.01{k}, "note \\u0000": "\\udc00\\u0000"}}\n'
        for k in range(9)
    ),
    "turned text": NO_UNIT.replace("HCHO", "HCHO \u202egnp.exe"),
    "wide characters cut off": AMBIGUOUS.encode("utf-16")[:-1],
    "nothing but a header": "time,HCHO (ppm)\n",
    "marks of every kind": NO_UNIT + "2026-09-15 09:03,<0.01\n2026-09-15 09:04,>5\n2026-09-15 09:05,-200\n",
}


@pytest.mark.parametrize("what", FILES)
def test_the_page_stands(campaign: Campaign, meter: Instrument, browser: Client, what: str) -> None:
    upload = hand_in(campaign, FILES[what], f"{SCRIPT}.csv", meter)
    read(upload)
    assert upload.state in (Upload.State.ATTENTION, Upload.State.UNREADABLE, Upload.State.READ)
    for address in (at("upload-layout", upload), at("upload", upload)):
        answer = browser.get(address)
        assert answer.status_code == 200
        assert "<script>alert" not in text(answer)
        assert len(answer.content) < 1_000_000
    if upload.understood and upload.state != Upload.State.READ:
        held = shown(browser, upload)
        for column, use in product(("column-0", "column-1"), ("stamp", "date", "co2")):
            sent = {**held, column: use}
            answer = browser.post(at("upload-layout", upload), sent, headers={"HX-Request": "true"})
            assert answer.status_code == 200
            assert "<script>alert" not in text(answer)


@pytest.mark.parametrize("what", ["a picture", "noise", "half a workbook", "a bomb"])
def test_what_is_no_log_is_said_to_be_none(campaign: Campaign, meter: Instrument, browser: Client, what: str) -> None:
    upload = hand_in(campaign, FILES[what], instrument=meter)
    read(upload)
    page = browser.get(at("upload-layout", upload))
    assert "look" not in page.context
    (problem,) = upload.problems.all()
    assert escape(problem.message) in text(page)
    assert browser.post(at("upload-layout", upload), {"do": "read"}).status_code == 409


def test_columns_beyond_those_that_are_shown(campaign: Campaign, meter: Instrument, browser: Client) -> None:
    """Nobody answers three hundred questions: what lies beyond the page and was not understood is left out."""
    upload = hand_in(campaign, FILES["three hundred columns"], instrument=meter)
    read(upload)
    page = browser.get(at("upload-layout", upload))
    assert "241 more columns to the right are not shown" in text(page)
    assert page.content.count(b"<select") < 200
    said = {"channel-formaldehyde-ppm": "1 formaldehyde ppm", "channel-formaldehyde-mg-m-": "none"}
    say(browser, upload, said)
    read(upload)
    assert [(parameter, unit) for _, parameter, unit, _ in stored(upload)] == [("formaldehyde", "ppm")] * 5

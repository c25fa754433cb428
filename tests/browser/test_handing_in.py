"""What is handed in is followed to its end where it was handed in, without loading the page again."""

from __future__ import annotations

import zipfile
from datetime import timedelta
from pathlib import Path

import pytest
from playwright.sync_api import Locator, Page, expect

from tests.browser.bench import CONSULTANT, START, Bench, set_up
from tests.browser.conftest import Enter

pytestmark = [pytest.mark.browser, pytest.mark.timeout(240)]

BENCH = Bench()


def a_log(serial: str, value: str = "0.031") -> str:
    """Twenty minutes of the visit that was entered."""
    rows = [f"{START + timedelta(minutes=n):%Y-%m-%d %H:%M:%S},{value}" for n in range(1, 21)]
    return "\n".join([f"Serial number,{serial}", "time,formaldehyde [ppm]", *rows]) + "\n"


def files(folder: Path) -> list[str]:
    (folder / "known.csv").write_text(a_log(BENCH.serial), encoding="utf-8")
    (folder / "unknown.csv").write_text(a_log("NOBODY-1"), encoding="utf-8")
    (folder / "paper.pdf").write_bytes(b"%PDF-1.7\n1 0 obj\n<<>>\nendobj\n")
    with zipfile.ZipFile(folder / "box.zip", "w") as box:
        box.writestr("one.csv", a_log("NOBODY-2", "0.041"))
        box.writestr("two.csv", a_log("NOBODY-3", "0.042"))
    return [str(folder / name) for name in ("known.csv", "unknown.csv", "paper.pdf", "box.zip")]


def row(page: Page, name: str) -> Locator:
    named = page.get_by_role("link", name=name, exact=True)
    return page.locator("[data-files] > li.job").filter(has=named)


def test_each_file_says_how_it_ended(enter: Enter, tmp_path: Path) -> None:
    page = enter(CONSULTANT)
    page.goto(set_up(page, BENCH) + "uploads/")
    expect(page.get_by_text("No log yet.")).to_be_visible()
    page.evaluate("window.stillTheSame = true")
    page.set_input_files("input[type=file]", files(tmp_path))
    ends = {"known.csv": "done", "unknown.csv": "needs attention", "paper.pdf": "failed", "box.zip": "done"}
    ends |= {"one.csv": "needs attention", "two.csv": "needs attention"}
    for name, end in ends.items():
        expect(row(page, name).locator(".job-state")).to_contain_text(end, timeout=60_000)
    expect(row(page, "known.csv")).to_contain_text("20 readings stored.")
    expect(row(page, "unknown.csv").get_by_role("link", name="Decide")).to_be_visible()
    expect(page.get_by_text("No log yet.")).to_have_count(0)
    assert page.evaluate("window.stillTheSame"), "the page was loaded anew"
    expect(page.locator("li.job")).to_have_count(len(ends))

"""An empty site, an instrument and a campaign, as a consultant makes them; every run has names of its own."""

from __future__ import annotations

import uuid
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from pathlib import Path

from playwright.sync_api import Page, expect

CONSULTANT = "odalys@fanlight.example"
START = datetime(2026, 10, 5, 9, 0)  # noqa: DTZ001 - typed on the clock of the site


@dataclass(frozen=True)
class Bench:
    """Names that no other run on the same house has."""

    run: str = field(default_factory=lambda: uuid.uuid4().hex[:6])
    units: tuple[str, ...] = ("ppm",)

    @property
    def site(self) -> str:
        return f"Quillgate {self.run}"

    @property
    def type(self) -> str:
        return f"Bench {self.run}"

    @property
    def meter(self) -> str:
        return f"bench meter {self.run}"

    @property
    def serial(self) -> str:
        return f"BRW-{self.run}"

    @property
    def campaign(self) -> str:
        return f"Look {self.run}"


def save(page: Page, **fields: str) -> None:
    """Fill the form of the page by its labels, and send it."""
    page.wait_for_load_state("networkidle")
    for label, value in fields.items():
        field = page.locator("main").get_by_label(label.replace("_", " "), exact=False).first
        if field.evaluate("e => e.tagName") == "SELECT":
            field.select_option(label=value)
        else:
            field.fill(value)
    page.locator("main form button.primary").last.click()
    page.wait_for_load_state("networkidle")
    expect(page.locator(".errorlist, .field-error")).to_have_count(0)


def add(page: Page, link: str, **fields: str) -> None:
    page.locator("main").get_by_role("link", name=link, exact=False).first.click()
    page.wait_for_load_state("networkidle")
    save(page, **fields)


def places(page: Page, bench: Bench) -> None:
    page.get_by_role("link", name="Sites").first.click()
    add(page, "Add site", Name=bench.site, Time_zone="Europe/Lisbon")
    add(page, "Add a building", Name="Main house")
    add(page, "Add a floor", Name="Ground floor", Level="0")
    add(page, "Add a zone", Name="Reading rooms")
    add(page, "Add a room", Name="Room 1", Floor_area="20")
    add(page, "add a point in Room 1", Name="desk")


def instruments(page: Page, bench: Bench) -> None:
    page.get_by_role("link", name="Instruments").first.click()
    page.get_by_role("link", name="Instrument types").first.click()
    add(page, "Add instrument type", Name=bench.type)
    for unit in bench.units:
        add(
            page, "Add a channel", Parameter="Formaldehyde", Unit=unit, Resolution="0.001", Range_to="5",
            Zero_uncertainty="0.002", Span_uncertainty="0.05",
        )  # fmt: skip
    page.get_by_role("link", name="Instruments").first.click()
    add(page, "Add instrument", Name=bench.meter, Type=bench.type, Serial_number=bench.serial)


def campaign(page: Page, bench: Bench) -> None:
    page.get_by_role("link", name="Sites").first.click()
    page.get_by_role("link", name=bench.site).first.click()
    page.wait_for_load_state("networkidle")
    add(page, "Plan a campaign", Name=bench.campaign, Starts_on="2026-10-05", Ends_on="2026-10-06")
    page.get_by_role("link", name="Deployments").first.click()
    page.wait_for_load_state("networkidle")
    add(
        page, "Add a deployment", Instrument=bench.meter, Point="Room 1, desk",
        Start=f"{START:%Y-%m-%dT%H:%M}", End=f"{START + timedelta(hours=1):%Y-%m-%dT%H:%M}",
    )  # fmt: skip


def judge_by_who(page: Page, home: str) -> None:
    page.goto(home + "criteria/")
    who = page.locator("tr").filter(has_text="WHO (Europe) 2010").filter(has_text="30-minute")
    who.get_by_role("checkbox").first.check()
    page.get_by_role("button", name="Add the chosen").click()
    page.wait_for_load_state("networkidle")


def hand_in(page: Page, home: str, log: Path) -> None:
    """And open its page."""
    page.goto(home + "uploads/")
    page.set_input_files("input[type=file]", str(log))
    page.locator("[data-files]").get_by_role("link", name=log.name, exact=True).click()
    page.wait_for_load_state("networkidle")


def set_up(page: Page, bench: Bench) -> str:
    """Places, instrument, a campaign judged by the WHO's guideline. The address of the campaign."""
    places(page, bench)
    instruments(page, bench)
    campaign(page, bench)
    page.get_by_role("link", name=bench.campaign).first.click()
    home = page.url
    judge_by_who(page, home)
    return home

"""Drawing a floor: with the mouse on a plan image, with keys alone, with a finger on a phone, two people at once."""

from __future__ import annotations

import io
import random
import re

import pytest
from PIL import Image
from playwright.sync_api import Locator, Page, expect

from tests.browser.conftest import Enter

pytestmark = pytest.mark.browser

#: A consultant with a hut of her own, so that the house the other tests look at stays as it is.
ISOLDE = "isolde@pebblecomb.example"


def about_20(name: str) -> re.Pattern[str]:
    """A room of 5 m × 4 m, drawn on a screen whose pixels are 16 mm: 20 m² within 1 %."""
    return re.compile(rf"^{name}(19\.[89]\d?|20(\.[01]\d?)?) m²$")


def new_floor(page: Page) -> str:
    """A floor with one zone and nothing drawn; the address of its plan."""
    level = random.randint(-30_000, -3)
    page.goto("/sites/")
    page.get_by_role("link", name="Pebblecomb Hut").first.click()
    page.get_by_role("link", name="Add a floor").first.click()
    page.get_by_label("Name").fill(f"Cellar {level}")
    page.get_by_label("Level").fill(str(level))
    page.locator("main form button.primary").click()
    page.get_by_role("link", name=f"Add a zone on Cellar {level}").click()
    page.get_by_label("Name").fill("Stores")
    page.locator("main form button.primary").click()
    page.get_by_role("link", name=f"Plan of Cellar {level}").click()
    page.wait_for_url("**/plan/")
    return page.url


def drawing(page: Page) -> Locator:
    return page.locator("svg[data-drawing]")


def press(page: Page, x: float, y: float) -> None:
    """A click so many metres from the floor's origin."""
    page.mouse.click(*on_screen(page, x, y))


def on_screen(page: Page, x: float, y: float) -> tuple[float, float]:
    drawing(page).scroll_into_view_if_needed()
    found = drawing(page).evaluate(
        "(svg, [x, y]) => { const p = new DOMPoint(x, y).matrixTransform(svg.getScreenCTM()); return [p.x, p.y]; }",
        [x, y],
    )
    return (found[0], found[1])


def saved(page: Page) -> None:
    expect(page.locator("[data-saved]")).to_have_text("All saved")


def rooms(page: Page) -> Locator:
    return page.locator('[data-part="list"] button[data-list="rooms"]')


def an_image() -> bytes:
    held = io.BytesIO()
    Image.new("RGB", (1200, 600), "white").save(held, "PNG")
    return held.getvalue()


def on_an_image(page: Page) -> None:
    """A white sheet of 1200 × 600 pixels, scaled to 12 m × 6 m with two clicks."""
    page.get_by_role("link", name="Plan image").click()
    page.locator("input[type=file]").set_input_files({"name": "c.png", "mimeType": "image/png", "buffer": an_image()})
    page.get_by_role("button", name="Take this image").click()
    page.get_by_role("button", name="Draw a room").click()
    expect(page.locator("[data-hint]")).to_have_text("Set the scale of the plan image first.")
    # Until it is scaled the image is shown 30 m wide: 20 m there are 800 pixels, which we say are 8 m.
    page.get_by_role("button", name="Set the scale").first.click()
    press(page, 2, 2)
    press(page, 22, 2)
    page.get_by_label("Length between the two places").fill("8")
    page.locator('[data-part="length"] button').click()


def test_a_room_is_drawn_on_a_scaled_image_and_undone(enter: Enter) -> None:
    page = enter(ISOLDE)
    new_floor(page)
    on_an_image(page)
    page.get_by_role("button", name="Draw a room").click()
    for corner in ((1, 1), (6, 1.02), (6, 5), (1.02, 5), (1, 1)):  # nearly level walls are made level
        press(page, *corner)
    expect(rooms(page)).to_have_text([about_20("Room 1")])
    expect(page.locator("[data-saved]")).to_have_text("2 changes not saved")

    page.keyboard.press("Control+z")
    expect(rooms(page)).to_have_count(0)
    page.get_by_role("button", name="Redo").click()
    expect(rooms(page)).to_have_count(1)
    page.locator(".board-room").click(position={"x": 9, "y": 9})
    page.get_by_label("Name").first.fill("Coal hole")
    page.get_by_role("button", name="Save").click()
    saved(page)
    page.reload()
    expect(rooms(page)).to_have_text([about_20("Coal hole")])
    rooms(page).click()
    expect(page.get_by_label("Floor area, m²")).to_have_value(re.compile(r"^(19\.9|20)"))


def tab_to(page: Page, name: str) -> None:
    """Press Tab until what has the focus is called so."""
    for _ in range(90):
        page.keyboard.press("Tab")
        said = page.evaluate(
            "(e => e.getAttribute('aria-label') || e.labels?.[0]?.textContent || e.textContent)(document.activeElement)"
        )
        if said.strip().startswith(name):
            return
    raise AssertionError(f"no way with Tab to “{name}”")


def test_everything_can_be_done_with_keys(enter: Enter) -> None:
    page = enter(ISOLDE)
    new_floor(page)
    tab_to(page, "Draw a room")
    page.keyboard.press("Enter")  # the drawing has the focus now
    page.keyboard.press("ArrowRight")
    for keys in ((), ("Shift+ArrowRight",) * 4, ("Shift+ArrowDown",) * 3, ("Shift+ArrowLeft",) * 4):
        for key in keys:
            page.keyboard.press(key)
        page.keyboard.press("Space")
    page.keyboard.press("Enter")
    expect(rooms(page)).to_have_text(["Room 112 m²"])

    tab_to(page, "Corner 3 of Room 1")
    for _ in range(5):
        page.keyboard.press("ArrowDown")
    expect(rooms(page)).to_have_text(["Room 113 m²"])  # a triangle of 4 m × 0.5 m more: 12 + 1
    page.keyboard.press("Control+z")
    expect(rooms(page)).to_have_text(["Room 112 m²"])  # five presses were one step

    tab_to(page, "Add a room by its size")
    page.keyboard.press("Enter")
    for label, value in (("Width, m", "2,5"), ("Length, m", "4"), ("Name", "Larder")):
        tab_to(page, label)
        page.keyboard.type(value)
    page.keyboard.press("Enter")
    expect(rooms(page)).to_have_text(["Room 112 m²", "Larder10 m²"])
    page.keyboard.press("Control+s")
    saved(page)


def test_a_point_is_placed_by_a_finger_on_a_phone(enter: Enter) -> None:
    page = enter(ISOLDE, width=360, height=740, has_touch=True, is_mobile=True)
    page.goto("/sites/")
    page.get_by_role("link", name="Pebblecomb Hut").first.click()
    page.get_by_role("link", name="Plan of Ground floor").click()
    marks = page.locator('[data-part="list"] button[data-list="points"]')
    expect(rooms(page)).to_have_count(2)
    assert page.evaluate("document.documentElement.scrollWidth") <= 360
    before = marks.count()
    page.get_by_role("button", name="Place a point").tap()
    page.touchscreen.tap(*on_screen(page, 1, 1))
    expect(marks).to_have_count(before + 1)
    expect(page.locator('[data-part="point-room"]')).to_have_text("In H1 Front room.")
    page.get_by_label("Height, m").last.fill("1,6")
    page.get_by_role("button", name="Save").tap()
    saved(page)
    page.get_by_role("button", name="Delete point").tap()
    page.get_by_role("button", name="Save").tap()
    saved(page)
    expect(marks).to_have_count(before)


def test_a_zone_is_renamed_and_gets_an_outline_of_its_own(enter: Enter) -> None:
    page = enter(ISOLDE)
    new_floor(page)
    page.get_by_text("Zones", exact=True).click()
    page.get_by_label("Name of zone Stores").fill("Vaults")
    page.get_by_role("button", name="Stores: Outline of its own").click()  # leaves the field, and is still heard
    for corner in ((1, 1), (9, 1), (9, 6), (1, 6), (1, 1)):
        press(page, *corner)
    expect(page.locator(".board-zone")).to_have_count(1)
    page.get_by_role("button", name="Save").click()
    saved(page)
    page.reload()
    expect(page.locator(".board-zone")).to_have_count(1)
    expect(page.locator('[data-part="list"] h3')).to_have_text(["Vaults"])


def test_a_room_is_divided_and_its_point_stays_in_it(enter: Enter) -> None:
    page = enter(ISOLDE)
    new_floor(page)
    page.get_by_text("Add a room by its size").click()
    page.get_by_label("Width, m").fill("6")
    page.get_by_label("Length, m").fill("4")
    page.locator("#size-name").fill("Hall")
    page.get_by_role("button", name="Add the room").click()
    page.get_by_role("button", name="Place a point").click()
    press(page, 1, 2)
    rooms(page).first.click()
    page.locator('[data-tool="divide"]').click()
    press(page, 2, 1)
    press(page, 2, 3)  # from floor to floor: the line is lengthened to the walls
    expect(rooms(page)).to_have_text([re.compile(r"^Hall(7\.9|8)"), re.compile(r"^Hall b(16|15\.9)")])
    expect(page.locator('[data-part="doubts"]')).to_be_hidden()


def test_two_people_at_once_lose_nothing(enter: Enter) -> None:
    first, second = enter(ISOLDE), enter(ISOLDE)
    address = new_floor(first)
    second.goto(address)
    for page, name in ((first, "Left"), (second, "Right")):
        page.get_by_text("Add a room by its size").click()
        page.get_by_label("Width, m").fill("3")
        page.get_by_label("Length, m").fill("4")
        page.locator("#size-name").fill(name)
        page.get_by_role("button", name="Add the room").click()
    first.get_by_role("button", name="Save").click()
    saved(first)
    second.get_by_role("button", name="Save").click()
    expect(second.get_by_role("alert")).to_contain_text("Somebody else has saved this plan since you opened it.")
    expect(rooms(second)).to_have_text(["Left12 m²", "Right12 m²"])
    second.get_by_role("button", name="Save").click()
    saved(second)
    first.reload()
    expect(rooms(first)).to_have_text(["Left12 m²", "Right12 m²"])

"""Plan images: who gets them, how they are served, and what becomes of scale and outlines."""

from __future__ import annotations

import hashlib
import io
from typing import Any

import pytest
from django.core.files.storage import default_storage
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse
from PIL import Image

from campaigns.models import Floor, FloorPlan, Room
from tests.campaigns.pages import errors, text
from tests.floor_plans.conftest import PLAN, Send, problems, state

pytestmark = pytest.mark.django_db
SCALE = {"x1": 0, "y1": 0, "x2": 1200, "y2": 0, "length_m": 12}


def hand_in(browser: Client, floor: Floor, content: bytes = PLAN, name: str = "plan.svg") -> Any:
    return browser.post(reverse("floor-plan-image-add", args=[floor.key]), {"file": SimpleUploadedFile(name, content)})


def served(browser: Client, floor: Floor) -> Any:
    return browser.get(reverse("floor-plan-image", args=[floor.key]))


def png(width: int, height: int, colour: str = "white") -> bytes:
    held = io.BytesIO()
    Image.new("RGB", (width, height), colour).save(held, "PNG")
    return held.getvalue()


def test_an_image_is_kept_under_its_own_hash(owner: Client, floor: Floor) -> None:
    assert hand_in(owner, floor, name="../../etc/passwd.svg").status_code == 302
    plan = FloorPlan.objects.get()
    with plan.image.open("rb") as stored:
        content = stored.read()
    assert hashlib.sha256(content).hexdigest() == plan.sha256
    assert str(plan.image.name).startswith(f"plans/{plan.sha256[:2]}/{plan.sha256}")
    assert (plan.image_kind, plan.width_px, plan.height_px, plan.image_name) == ("svg", 2400, 1200, "passwd.svg")


def test_it_is_served_so_that_it_can_do_nothing(owner: Client, floor: Floor) -> None:
    hand_in(owner, floor)
    answer = served(owner, floor)
    assert answer.headers["Content-Type"] == "image/svg+xml"
    assert answer.headers["X-Content-Type-Options"] == "nosniff"
    assert "sandbox" in answer.headers["Content-Security-Policy"]
    assert "default-src 'none'" in answer.headers["Content-Security-Policy"]
    assert b"M0 0L24 12" in b"".join(answer.streaming_content)


def test_there_is_no_image_until_somebody_hands_one_in(owner: Client, floor: Floor) -> None:
    assert served(owner, floor).status_code == 404


def test_an_image_whose_file_is_gone_is_not_found(owner: Client, floor: Floor) -> None:
    hand_in(owner, floor)
    default_storage.delete(str(FloorPlan.objects.get().image.name))
    assert served(owner, floor).status_code == 404


def test_what_is_refused_is_said_at_the_field_and_nothing_is_kept(owner: Client, floor: Floor) -> None:
    assert errors(hand_in(owner, floor, b"hello", "plan.png")) == {
        "file": ["This is not a PNG, JPEG, WebP, SVG or PDF file."]
    }
    assert not FloorPlan.objects.exists()


def test_what_an_svg_lost_is_said(owner: Client, floor: Floor) -> None:
    hand_in(owner, floor, PLAN.replace(b"<path", b"<script>1</script><path"))
    assert "Left out of the SVG, because it could act or load something: script × 1." in text(
        owner.get(reverse("floor-plan", args=[floor.key]))
    )


def test_the_scale_is_kept_with_both_clicks(owner: Client, floor: Floor, send: Send) -> None:
    hand_in(owner, floor)
    assert send(scale=SCALE, origin={"x_px": 10, "y_px": 20}).status_code == 200
    plan = FloorPlan.objects.get()
    assert plan.metres_per_px == pytest.approx(0.01)
    assert (plan.scale_x2_px, plan.scale_length_m, plan.origin_y_px) == (1200, 12, 20)
    assert state(owner, floor)["scale"] == SCALE


@pytest.mark.parametrize(
    ("scale", "said"),
    [
        ({**SCALE, "x2": 2}, "too near each other"),
        ({**SCALE, "length_m": 0}, "above zero"),
        ({**SCALE, "x1": None}, "A number is missing"),
    ],
)
def test_a_scale_nobody_could_mean(
    owner: Client, floor: Floor, send: Send, scale: dict[str, object], said: str
) -> None:
    hand_in(owner, floor)
    assert said in problems(send(scale=scale))[0]


class TestAnotherImage:
    @pytest.fixture(autouse=True)
    def _scaled(self, owner: Client, floor: Floor, send: Send) -> None:
        hand_in(owner, floor, png(1200, 600), "a.png")
        send(scale=SCALE)

    def test_of_the_same_size_keeps_the_scale(self, owner: Client, floor: Floor) -> None:
        before = FloorPlan.objects.get().sha256
        hand_in(owner, floor, png(1200, 600, "black"), "b.png")
        assert FloorPlan.objects.get().sha256 != before
        assert FloorPlan.objects.get().metres_per_px == pytest.approx(0.01)

    def test_of_another_size_forgets_it_and_the_rooms_stay(self, owner: Client, floor: Floor, room: Room) -> None:
        hand_in(owner, floor, png(800, 600), "b.png")
        assert FloorPlan.objects.get().metres_per_px is None
        room.refresh_from_db()
        assert room.outline

    def test_who_drew_meanwhile_is_told(self, owner: Client, floor: Floor, send: Send) -> None:
        read = state(owner, floor)["version"]
        hand_in(owner, floor, png(800, 600), "b.png")
        assert send(version=read).status_code == 409

    def test_can_be_taken_away_with_its_file(
        self, owner: Client, floor: Floor, room: Room, django_capture_on_commit_callbacks: Any
    ) -> None:
        before = FloorPlan.objects.get().image.name
        with django_capture_on_commit_callbacks(execute=True):
            owner.post(reverse("floor-plan-image-remove", args=[floor.key]))
        plan = FloorPlan.objects.get()
        assert (plan.image.name, plan.width_px, plan.metres_per_px) == ("", None, None)
        assert not default_storage.exists(str(before))
        room.refresh_from_db()
        assert room.outline


@pytest.mark.history
def test_the_history_of_a_floor_tells_of_its_plan(owner: Client, floor: Floor, send: Send) -> None:
    hand_in(owner, floor)
    send(scale=SCALE)
    page = text(owner.get(reverse("floor-history", args=[floor.key])))
    assert "plan.svg" in page
    assert "Scale length m" in page
    assert "Version" not in page


def test_the_page_without_script_shows_the_drawing(owner: Client, floor: Floor) -> None:
    hand_in(owner, floor)
    page = text(owner.get(reverse("floor-plan", args=[floor.key])))
    assert 'points="0.000,0.000 4.000,0.000 4.000,5.000 0.000,5.000"' in page
    assert "<style" not in page
    assert 'style="' not in page

"""Plan images: each kind of file that is taken, and files built to do harm. No outside source: common practice.

What is kept is read back with the same libraries that everyone would use, and searched for what must not be in it.
"""

from __future__ import annotations

import io
import struct
import subprocess
import sys
import zlib
from pathlib import Path

import pypdfium2 as pdfium
import pytest
from PIL import Image, PngImagePlugin

from methods.floorplans.images import ImageRefused, PlanImage, apart, understand
from methods.floorplans.images.pdf import first_page

SVG = (
    '<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" viewBox="0 0 300 100">{}</svg>'
)
LINE = '<path d="M0 0L300 100" stroke="black"/>'


def picture(kind: str, size: tuple[int, int] = (60, 20), **options: object) -> bytes:
    held = io.BytesIO()
    Image.new("RGB", size, (200, 10, 10)).save(held, kind, **options)
    return held.getvalue()


def pdf(*sizes: tuple[float, float]) -> bytes:
    document = pdfium.PdfDocument.new()
    for size in sizes:
        document.new_page(*size)
    held = io.BytesIO()
    document.save(held)
    return held.getvalue()


def svg(inside: str) -> PlanImage:
    return understand(SVG.format(inside).encode())


def read_back(image: PlanImage) -> Image.Image:
    return Image.open(io.BytesIO(image.content))


class TestPixels:
    @pytest.mark.parametrize(("kind", "kept"), [("PNG", "png"), ("JPEG", "jpeg"), ("WEBP", "png")])
    def test_each_kind_is_drawn_anew(self, kind: str, kept: str) -> None:
        image = understand(picture(kind))
        again = read_back(image)
        assert (image.kind, image.width_px, image.height_px) == (kept, 60, 20)
        assert (again.format, again.size) == (kept.upper(), (60, 20))
        assert again.convert("RGB").getpixel((30, 10)) == pytest.approx((200, 10, 10), abs=6)

    def test_nothing_but_the_picture_stays(self) -> None:
        told = PngImagePlugin.PngInfo()
        told.add_text("Author", "somebody-private")
        exif = Image.Exif()
        exif[0x010E] = "somebody-private"
        for content in (picture("PNG", pnginfo=told), picture("JPEG", exif=exif)):
            assert b"somebody-private" in content
            assert b"somebody-private" not in understand(content).content

    def test_a_photograph_taken_sideways_stands_upright(self) -> None:
        exif = Image.Exif()
        exif[0x0112] = 6
        assert read_back(understand(picture("JPEG", exif=exif))).size == (20, 60)

    def test_a_file_that_is_two_things_keeps_the_picture_only(self) -> None:
        image = understand(picture("PNG") + b"PK\x03\x04<script>alert(1)</script>")
        assert b"script" not in image.content

    def test_a_large_plan_is_made_smaller(self) -> None:
        assert understand(picture("PNG", (5000, 100))).width_px == 4096

    def test_a_bomb_is_refused_before_it_is_unpacked(self) -> None:
        """A PNG of a few bytes that claims 50,000 × 50,000 pixels."""

        def chunk(name: bytes, data: bytes) -> bytes:
            return struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data))

        head = struct.pack(">IIBBBBB", 50_000, 50_000, 8, 2, 0, 0, 0)
        bomb = (
            b"\x89PNG\r\n\x1a\n"
            + chunk(b"IHDR", head)
            + chunk(b"IDAT", zlib.compress(bytes(10_000)))
            + chunk(b"IEND", b"")
        )
        with pytest.raises(ImageRefused, match="million pixels"):
            understand(bomb)

    @pytest.mark.parametrize("content", [b"", b"GIF89a" + bytes(50), b"hello", b"<html><body>svg</body></html>"])
    def test_other_files_are_refused(self, content: bytes) -> None:
        with pytest.raises(ImageRefused):
            understand(content)

    @pytest.mark.parametrize("kind", ["PNG", "JPEG", "WEBP"])
    def test_half_a_file_is_refused(self, kind: str) -> None:
        with pytest.raises(ImageRefused, match="broken"):
            understand(picture(kind, (300, 300))[:-40] if kind == "PNG" else picture(kind, (300, 300))[:60])


class TestPdf:
    def test_the_first_page_is_drawn(self) -> None:
        """A4 across at 200 dpi: 842 pt × 200 / 72 = 2339 px."""
        image = understand(pdf((842, 595), (100, 100)))
        assert image.kind == "png"
        assert image.width_px == pytest.approx(2339, abs=1)

    def test_a_large_sheet_is_drawn_smaller(self) -> None:
        image = understand(pdf((3370, 2384)))
        assert image.width_px == pytest.approx(4096, abs=1)

    @pytest.mark.parametrize("content", [b"%PDF-1.7\n", b"%PDF-1.7\n" + bytes(range(256)) * 40, pdf()])
    def test_a_broken_one_is_refused(self, content: bytes) -> None:
        with pytest.raises(ImageRefused, match="broken"):
            understand(content)

    def test_a_sheet_larger_than_paper_is_refused(self) -> None:
        with pytest.raises(ImageRefused, match="larger than any sheet"):
            understand(pdf((30_000, 30_000)))

    def test_one_that_takes_too_long_is_given_up(self) -> None:
        with pytest.raises(ImageRefused, match="not drawn within"):
            first_page(pdf((842, 595)), seconds=0.001)


class TestSvg:
    def test_a_drawing_keeps_its_lines_and_its_shape(self) -> None:
        image = svg('<g transform="scale(2)"><path d="M0 0L9 9" stroke="black"/></g><text x="5" y="5">Hall</text>')
        assert (image.kind, image.width_px, image.height_px) == ("svg", 2400, 800)
        for kept in (b'd="M0 0L9 9"', b"scale(2)", b"Hall", b'viewBox="0 0 300 100"'):
            assert kept in image.content

    def test_rules_of_classes_become_attributes(self) -> None:
        image = svg("<style>.wall{stroke:#123456;stroke-width:3}</style><path class='wall' d='M0 0L9 9'/>")
        assert b'stroke="#123456"' in image.content
        assert b"<style" not in image.content

    @pytest.mark.parametrize(
        ("inside", "gone"),
        [
            ("<script>alert(1)</script>", b"alert"),
            ("<path d='M0 0L1 1' onload='alert(1)'/>", b"alert"),
            ("<foreignObject><body xmlns='http://www.w3.org/1999/xhtml'><b>hi</b></body></foreignObject>", b"hi"),
            ("<image href='http://elsewhere.example/x.png'/>", b"elsewhere"),
            ("<image xlink:href='data:image/png;base64,AAAA'/>", b"AAAA"),
            ("<use xlink:href='http://elsewhere.example/x.svg#a'/>", b"elsewhere"),
            ("<a xlink:href='javascript:alert(1)'><path d='M0 0L1 1'/></a>", b"javascript"),
            ("<path d='M0 0L1 1' fill='url(http://elsewhere.example/x)'/>", b"elsewhere"),
            ("<path d='M0 0L1 1' style='fill:url(//elsewhere.example/x)'/>", b"elsewhere"),
            ("<path d='M0 0L1 1' style='fill:u\\72l(//elsewhere.example/x)'/>", b"elsewhere"),
            ("<style>@import url(http://elsewhere.example/x.css);</style>", b"elsewhere"),
            ("<style>.a{fill:url(http://elsewhere.example/x)}</style><path class='a' d='M0 0L1 1'/>", b"elsewhere"),
            ("<animate attributeName='href' values='javascript:alert(1)'/>", b"javascript"),
            ("<set attributeName='onmouseover' to='alert(1)'/>", b"alert"),
            ("<script xmlns='http://www.w3.org/1999/xhtml'>alert(1)</script>", b"alert"),
            ("<?xml-stylesheet href='http://elsewhere.example/x.css'?>", b"elsewhere"),
            ("<!-- <script>alert(1)</script> -->", b"alert"),
        ],
    )
    def test_what_acts_or_reaches_out_is_gone(self, inside: str, gone: bytes) -> None:
        assert gone in SVG.format(inside + LINE).encode()
        image = svg(inside + LINE)
        assert gone not in image.content
        assert b"M0 0L300 100" in image.content

    def test_paint_from_the_same_file_stays(self) -> None:
        image = svg('<linearGradient id="g"><stop offset="0" stop-color="red"/></linearGradient><rect fill="url(#g)"/>')
        assert b'fill="url(#g)"' in image.content

    def test_what_was_left_out_is_said(self) -> None:
        assert svg("<image/><image/><script/>" + LINE).left_out == ("image × 2", "script × 1")

    def test_entities_are_not_read(self) -> None:
        bomb = '<!DOCTYPE svg [<!ENTITY a "aaaa"><!ENTITY b "&a;&a;&a;">]>' + SVG.format("<text>&b;</text>")
        leak = '<!DOCTYPE svg [<!ENTITY x SYSTEM "file:///etc/passwd">]>' + SVG.format("<text>&x;</text>")
        for content in (bomb, leak):
            with pytest.raises(ImageRefused, match="entities"):
                understand(content.encode())

    @pytest.mark.parametrize(
        ("content", "said"),
        [
            (SVG.format("<g>" * 80 + LINE + "</g>" * 80), "too complex"),
            (SVG.format(""), "Nothing"),
            ("<svg xmlns='http://www.w3.org/2000/svg'>" + LINE + "</svg>", "how large"),
            (SVG.format(LINE).replace("300 100", "nan 100"), "how large"),
            (SVG.format(LINE).replace("300 100", "300 0.1"), "thousand times"),
            ("<svg", "cannot be read"),
        ],
    )
    def test_what_cannot_be_drawn_is_refused(self, content: str, said: str) -> None:
        with pytest.raises(ImageRefused, match=said):
            understand(content.encode())


MEASURED = """
import resource, sys
from methods.floorplans.images import understand
image = understand(sys.stdin.buffer.read())
peak = next(line for line in open("/proc/self/status") if line.startswith("VmHWM")).split()[1]
forked = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss
print(image.width_px, image.height_px, int(peak) // 1024, forked // 1024)
"""


@pytest.mark.skipif(not Path("/proc/self/status").exists(), reason="says what a process takes")
def test_a_picture_of_60_megapixels_takes_no_memory_of_who_asks() -> None:
    """A scan of 60 million pixels with an alpha channel, 240 MB unpacked, in a file of some hundred kilobytes."""
    held = io.BytesIO()
    Image.new("RGBA", (10_000, 6_000), (200, 10, 10, 128)).save(held, "PNG")
    asked = [sys.executable, "-c", MEASURED]
    root = Path(__file__).resolve().parents[2]
    done = subprocess.run(asked, cwd=root, input=held.getvalue(), capture_output=True, timeout=110, check=True)
    width, height, own, child = map(int, done.stdout.split())
    assert (width, height) == (4096, 2458)
    assert own < 200
    assert child < 1_000


def test_one_at_a_time() -> None:
    busy = pytest.raises(ImageRefused, match="Other plans are being drawn just now")
    with apart.in_turn(), busy, apart.in_turn(0.05):
        pass
    assert understand(picture("PNG")).width_px == 60


def test_what_runs_into_its_limits_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    with pytest.raises(ImageRefused, match=r"not read within 0\.001 s"):
        apart.picture_of(picture("PNG"), "pixels", seconds=0.001)
    monkeypatch.setattr(apart, "run", lambda *_: (-9, b""))
    with pytest.raises(ImageRefused, match="more memory or time than any plan needs"):
        understand(picture("PNG"))

"""A program of its own: PDF bytes in, the first page as PNG bytes out. Run by ``images.pdf``, never imported.

It runs alone so that a file that makes the renderer hang, crash or eat memory takes nobody with it.
"""

from __future__ import annotations

import contextlib
import io
import sys

LONGEST_PX, LARGEST_PT = 4096, 20_000.0
DOTS_PER_POINT = 200 / 72
MEMORY, SECONDS = 1_500_000_000, 20
REFUSED, ENCRYPTED, TOO_LARGE = 3, 4, 5


def limited() -> None:
    with contextlib.suppress(ImportError, ValueError, OSError):
        import resource  # not on Windows, where the caller's time limit stays

        resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))
        resource.setrlimit(resource.RLIMIT_CPU, (SECONDS, SECONDS))


def render(content: bytes) -> bytes:
    import pypdfium2 as pdfium

    try:
        page = pdfium.PdfDocument(content)[0]
        width, height = page.get_size()
    except pdfium.PdfiumError as error:
        sys.exit(ENCRYPTED if "password" in str(error).lower() else REFUSED)
    except IndexError:
        sys.exit(REFUSED)
    if not (0 < width <= LARGEST_PT and 0 < height <= LARGEST_PT):
        sys.exit(TOO_LARGE)
    scale = min(DOTS_PER_POINT, LONGEST_PX / max(width, height))
    held = io.BytesIO()
    page.render(scale=scale, may_draw_forms=False).to_pil().convert("RGB").save(held, "PNG")
    return held.getvalue()


if __name__ == "__main__":
    limited()
    sys.stdout.buffer.write(render(sys.stdin.buffer.read()))

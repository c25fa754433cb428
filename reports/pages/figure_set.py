"""A figure of the zone page with all that stands around it: what ``parts/series.html`` shows."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from typing import Any

from django.urls import reverse

from methods.wording.numbers import plain, span
from readings.models import Upload
from reports.models.findings import TOGETHER
from reports.pages.figure_query import FigureQuery, Shown

MOST_ROWS = 6
Rows = list[list[Any]]
#: (name, value) → the address of the page with that asked for.
Link = Callable[[str, str], str]


@dataclass
class FigureTable:
    """A table: for ``parts/table.html``."""

    caption: str
    columns: list[dict[str, Any]]
    rows: Rows

    @property
    def is_long(self) -> bool:
        """Too long to stand between a figure and what comes after it: folded away."""
        return len(self.rows) > MOST_ROWS


@dataclass
class FigureDrawing:
    """``key`` names the figure in addresses and on the page; ``caption`` what is shown, ``said`` what it says in
    words, ``notes`` what one must know to read it. ``numbers``: the same as a table. ``zooms``: has a time axis of
    which the server shows any part in more detail. ``parameters``, ``outdoors`` (the outdoor points too), ``room_air``
    (nothing else of the zone), ``only_long`` (no visits): which readings it is drawn from."""

    key: str
    figure: dict[str, Any]
    caption: str
    said: str = ""
    notes: list[str] = field(default_factory=list)
    numbers: FigureTable | None = None
    zooms: bool = False
    parameters: Sequence[str] = ()
    outdoors: bool = False
    room_air: bool = False
    only_long: bool = False


@dataclass
class FigureSet:
    """All figures of one view, its tables, and what to do next where there are none: (words, address, its label).

    ``switches``: (label, options for ``parts/switch.html``). ``refused``: why readings of an instrument are missing.
    """

    unit: str = ""
    drawings: list[FigureDrawing] = field(default_factory=list)
    tables: list[FigureTable] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)
    refused: list[str] = field(default_factory=list)
    switches: list[tuple[str, list[tuple[str, str, bool]]]] = field(default_factory=list)
    empty: tuple[str, str, str] | None = None


def nothing_held(look: FigureQuery, what: str = "") -> tuple[str, str, str]:
    """No reading to draw: what to do next."""
    said = what or f"No reading of {look.name.lower()} from this zone is held."
    return f"{said} Hand in the logs of the visits.", reverse("uploads", args=[look.campaign.key]), "Upload logs"


# --- where it comes from ----------------------------------------------------------------------------------------------

NUMBERS: list[dict[str, Any]] = [
    {"label": "Point and instrument"},
    {"label": "Readings", "num": True},
    {"label": "Lowest", "num": True},
    {"label": "Highest", "num": True},
    {"label": "Deployed"},
    {"label": "Where it comes from"},
]


def numbers(look: FigureQuery, shown: Iterable[Shown], unit: str, when: str = "") -> FigureTable:
    """Lowest and highest counted reading at each deployment in the part of time that is looked at. Two queries."""
    origin = Origins(look)
    zone = look.campaign.site.zone_info
    rows = [_numbers_row(shown_part, unit, origin, zone) for shown_part in shown]
    part = "the part of time shown" if look.span else "each deployment"
    caption = f"Readings in {part}{when}, corrected; lowest and highest of those that count."
    return FigureTable(caption, NUMBERS, rows)


def _numbers_row(part: Shown, unit: str, origin: Origins, zone: Any) -> list[Any]:
    known = part.course.value[part.course.drawn]
    deployment = part.deployment
    when = span(deployment.starts_at, deployment.ends_at, zone) if deployment.ends_at else "still open"
    ends: list[Any] = [
        {"text": plain(float(known.min())), "unit": unit} if len(known) else "–",
        {"text": plain(float(known.max())), "unit": unit} if len(known) else "–",
    ]
    head = {"text": part.course.label, "note": part.course.instrument}
    return [head, f"{part.reading_count:,}", *ends, when, origin.of(part)]


class Origins:
    """From a deployment to the page that leads down to file and line: its result, or else its instrument's files."""

    def __init__(self, look: FigureQuery) -> None:
        self.results: dict[str, Any] = {}  # by the key of every deployment a result rests on
        if look.current is not None:
            rows = look.current.criterion.results.values_list("key", "deployment__key", TOGETHER)
            for key, deployment, joined in rows:
                if deployment is not None:
                    self.results |= dict.fromkeys([str(deployment), *(joined or ())], key)
        self.files: dict[int, list[Upload]] = {}
        uploads = Upload.objects.filter(campaign=look.campaign, instrument__isnull=False, state=Upload.State.READ)
        for upload in uploads.only("key", "filename", "instrument_id").order_by("pk"):
            self.files.setdefault(upload.instrument_id or 0, []).append(upload)

    def of(self, part: Shown) -> Any:
        """A cell for ``parts/table.html``."""
        result = self.results.get(str(part.deployment.key))
        if result is not None:
            return {"text": "From the result to the line of the file", "url": reverse("result", args=[result])}
        files = self.files.get(part.deployment.instrument_id, [])
        if not files:
            return "–"
        more = f" and {len(files) - 1} more of this instrument" if len(files) > 1 else ""
        return {"text": files[0].filename, "url": reverse("upload", args=[files[0].key]), "note": more.strip()}

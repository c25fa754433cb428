"""What a stored value is, in words, and who says so."""

from __future__ import annotations

from campaigns.models import Instrument, InstrumentType
from readings.models import SavedLayout

USUAL = "As the instrument type says"
CHOICES = [("", USUAL), *InstrumentType.Represents.choices]


def clause(represents: str) -> str:
    """“a mean of the logging interval, stamped at its end”."""
    label = str(InstrumentType.Represents(represents).label)
    return label[:1].lower() + label[1:]


def represents(instrument: Instrument, layout: SavedLayout | None) -> str:
    """``layout``: the kept one that the file was read with."""
    return layout.represents if layout is not None and layout.represents else instrument.type.represents


def said(instrument: Instrument | None, layout: SavedLayout | None) -> str:
    """The clause with who says so; "" where nobody does."""
    if layout is not None and layout.represents:
        return f"{clause(layout.represents)}, as the layout “{layout}” says"
    return f"{clause(instrument.type.represents)}, as the instrument type says" if instrument is not None else ""

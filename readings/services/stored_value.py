"""What a stored value is, in words, and who says so."""

from __future__ import annotations

from campaigns.models import Instrument
from campaigns.models.instruments import STAMP_CONVENTION_CHOICES
from methods.quantities.stamp_convention import StampConvention
from readings.models import SavedLayout

USUAL = "As the instrument type says"
CHOICES = [("", USUAL), *STAMP_CONVENTION_CHOICES]


def represents(instrument: Instrument, layout: SavedLayout | None) -> str:
    """``layout``: the kept one that the file was read with."""
    return layout.represents if layout is not None and layout.represents else instrument.type.represents


def said(instrument: Instrument | None, layout: SavedLayout | None) -> str:
    """The clause with who says so; "" where nobody does."""
    if layout is not None and layout.represents:
        return f"{StampConvention(layout.represents).clause}, as the layout “{layout}” says"
    if instrument is None:
        return ""
    return f"{StampConvention(instrument.type.represents).clause}, as the instrument type says"

"""The air pressure that a campaign counts with, and what is said of a channel that may answer to it."""

from __future__ import annotations

from campaigns.models import Campaign, ChannelSpec
from methods.quantities.pressure import AnswersTo, StationPressure


def pressure_at(campaign: Campaign) -> StationPressure:
    """As entered for the campaign, else of the standard atmosphere at the altitude of its site."""
    return StationPressure.of(campaign.station_pressure_kpa, campaign.site.altitude_m)


def corrected_words(spec: ChannelSpec, pressure: StationPressure) -> str:
    """What was done to its values; "" where nothing was."""
    return pressure.corrected if spec.answers_to == AnswersTo.NUMBER_DENSITY else ""


def unsaid_words(spec: ChannelSpec, pressure: StationPressure) -> str:
    """How far off its values may be; "" where they are not, or the air is hardly thinner than by the sea."""
    is_open = not spec.answers_to and spec.substance.answers_to_pressure
    return pressure.unsaid if is_open and pressure.is_thin else ""

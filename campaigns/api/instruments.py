"""Instruments with their channels."""

from __future__ import annotations

from typing import Any

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from campaigns.api.base import ReadOnly, RowSerializer
from campaigns.api.params import by_key
from campaigns.models import ChannelSpec, Instrument, InstrumentType, TokenScope
from methods.quantities.pressure import AnswersTo


class ChannelSerializer(RowSerializer[ChannelSpec]):
    """A parameter in a unit, and how well it is measured."""

    answers_to = serializers.ChoiceField(
        choices=[("", "nobody said"), *((answer.value, answer.label) for answer in AnswersTo)], read_only=True
    )

    class Meta:
        model = ChannelSpec
        fields = (
            "parameter", "unit", "probe", "resolution", "range_low", "range_high", "detection_limit", "t90_s", "u_zero",
            "u_span", "u_drift", "u_span_drift", "u_temperature", "u_interference", "repeatability",
            "answers_to", "reference_temperature_c", "reference_pressure_kpa",
        )  # fmt: skip


class TypeSerializer(RowSerializer[InstrumentType]):
    class Meta:
        model = InstrumentType
        fields = ("key", "name", "warm_up_s", "temperature_low_c", "temperature_high_c", "interference")


class InstrumentSerializer(RowSerializer[Instrument]):
    type = TypeSerializer(read_only=True)
    channels = serializers.SerializerMethodField()

    class Meta:
        model = Instrument
        fields = ("key", "name", "serial", "type", "clock_basis", "clock_offset_min", "channels")

    @extend_schema_field(ChannelSerializer(many=True))
    def get_channels(self, instrument: Instrument) -> list[dict[str, Any]]:
        return list(ChannelSerializer([channel.spec for channel in instrument.channels.all()], many=True).data)


class InstrumentViewSet(ReadOnly[Instrument]):
    """Instruments with their type and channels."""

    model = Instrument
    scope = TokenScope.CAMPAIGNS
    serializer_class = InstrumentSerializer
    related = ("type",)
    prefetch = ("channels__spec",)
    filters = {"type": by_key("type", "Instruments of this type.")}

"""How criteria, results, findings and reports are written."""

from __future__ import annotations

from collections import Counter
from typing import Any

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from campaigns.api.base import RowSerializer, key_of
from campaigns.models import Criterion, Limit
from methods.verdicts.words import MARK_GLYPHS, VERDICT_WORDS, mark_of
from reports.api.wording import citation_of, text_of
from reports.models import Finding, Report, Result
from reports.services.result_values import word_of
from reports.trace.upgrades import Part

#: A lower limit is met above it, a range within it.
MET = "Whether the limit is met; empty while undecided or not comparable."
VERDICTS = [(verdict.value, words) for verdict, words in VERDICT_WORDS.items()]


class LimitSerializer(RowSerializer[Limit]):
    text = serializers.SerializerMethodField(help_text="The limit in one line, for people.")
    citation = serializers.SerializerMethodField(help_text="Where it is written.")
    value = serializers.FloatField(read_only=True, allow_null=True)
    reference_temperature_c = serializers.FloatField(
        read_only=True, allow_null=True, help_text="For mass units. Empty: 25 °C is assumed and said."
    )
    tolerance = serializers.FloatField(
        read_only=True,
        allow_null=True,
        help_text="The share of its value by which the rule itself lets a result pass it.",
    )
    occupied = serializers.ChoiceField(
        choices=Limit.Occupied.choices,
        read_only=True,
        allow_blank=True,
        help_text="Of a limit for occupied time what of the time of use counts; empty: all time.",
    )
    in_force = serializers.BooleanField(read_only=True, help_text="Today, by its status and by its dates.")
    published = serializers.BooleanField(read_only=True, help_text="Otherwise entered by the consultant.")

    class Meta:
        model = Limit
        fields = (
            "code", "text", "citation", "body", "document", "parameter", "value", "unit", "strict", "averaging",
            "averaging_minutes", "occupied", "tolerance", "reference_temperature_c", "published", "in_force",
            "valid_from", "valid_to", "needs_check",
        )  # fmt: skip

    def get_text(self, limit: Limit) -> str:
        return text_of(limit)

    def get_citation(self, limit: Limit) -> str:
        return citation_of(limit)


class CriterionSerializer(RowSerializer[Criterion]):
    campaign = key_of("campaign")
    limit = LimitSerializer(read_only=True)

    class Meta:
        model = Criterion
        fields = ("key", "campaign", "position", "limit")


class TracedField(serializers.JSONField):
    """What a result is traced by, in today's format whichever it is stored in."""

    def __init__(self, part: Part) -> None:
        super().__init__(read_only=True)
        self.part = part

    def get_attribute(self, instance: Result) -> Any:
        return instance.in_current_format(self.part)


@extend_schema_field(str)
class ToldField(serializers.Field[str, str, str, Any]):
    """The verdict as pages tell it, of a result or of the result that decided."""

    def __init__(self, *, glyph: bool = False, **more: Any) -> None:
        help_text = "Its glyph." if glyph else "The verdict in words; of a range: within, above or below the range."
        super().__init__(read_only=True, source="*", help_text=help_text, **more)
        self.glyph = glyph

    def to_representation(self, value: Any) -> str:
        result: Result = value.governing if isinstance(value, Finding) else value
        words = word_of(result)
        return MARK_GLYPHS[mark_of(result.verdict, words)] if self.glyph else words


class ResultSerializer(RowSerializer[Result]):
    campaign = key_of("criterion.campaign")
    criterion = key_of("criterion")
    deployment = key_of("deployment", allow_null=True, help_text="Empty for a sample analysed in a laboratory.")
    point = key_of("point")
    verdict = serializers.ChoiceField(choices=VERDICTS, read_only=True)
    words = ToldField()
    glyph = ToldField(glyph=True)
    met = serializers.BooleanField(source="traced.is_met", read_only=True, allow_null=True, help_text=MET)
    reasons = TracedField("reasons")
    budget = TracedField("budget")
    trace = TracedField("trace")

    class Meta:
        model = Result
        fields = (
            "key", "campaign", "criterion", "deployment", "point", "verdict", "words", "glyph", "met", "value", "unit",
            "u", "dof", "excess", "expanded", "p_above", "reading_count", "coverage", "window_start", "window_end",
            "comparability", "reasons", "budget", "trace", "method", "digest",
        )  # fmt: skip


class GoverningSerializer(RowSerializer[Result]):
    """The result that decided, and where it came from."""

    deployment = key_of("deployment", allow_null=True, help_text="Empty for a sample analysed in a laboratory.")
    point = key_of("point")
    budget = TracedField("budget")
    trace = TracedField("trace")

    class Meta:
        model = Result
        fields = ("key", "deployment", "point", "reading_count", "coverage", "budget", "trace", "method", "digest")


class RoomCountsSerializer(serializers.Serializer[Counter[str]]):
    """Rooms of the zone by verdict, each by the result that concerns most in it."""

    above = serializers.IntegerField()
    undecided = serializers.IntegerField()
    below = serializers.IntegerField()
    not_comparable = serializers.IntegerField()
    unmeasured = serializers.IntegerField()

    def to_representation(self, counts: Counter[str]) -> dict[str, int]:
        return {str(name): counts[str(name)] for name in self.fields}


class FindingSerializer(RowSerializer[Finding]):
    campaign = key_of("criterion.campaign")
    criterion = key_of("criterion")
    zone = key_of("zone")
    verdict = serializers.ChoiceField(choices=VERDICTS, read_only=True)
    words = ToldField()
    glyph = ToldField(glyph=True)
    met = serializers.BooleanField(source="governing.traced.is_met", read_only=True, allow_null=True, help_text=MET)
    limit_code = serializers.CharField(source="criterion.limit.code", read_only=True)
    limit_text = serializers.SerializerMethodField(help_text="The limit in one line, for people.")
    limit_citation = serializers.SerializerMethodField(help_text="Where it is written.")
    value = serializers.FloatField(source="governing.value", read_only=True, allow_null=True)
    unit = serializers.CharField(source="governing.unit", read_only=True)
    u = serializers.FloatField(
        source="governing.u", read_only=True, allow_null=True, help_text="Standard uncertainty, in the unit."
    )
    p_above = serializers.FloatField(
        source="governing.p_above",
        read_only=True,
        allow_null=True,
        help_text="Probability that the true value is above the limit.",
    )
    window_start = serializers.DateTimeField(source="governing.window_start", read_only=True, allow_null=True)
    window_end = serializers.DateTimeField(source="governing.window_end", read_only=True, allow_null=True)
    rooms = RoomCountsSerializer(source="by_room.counts", read_only=True)
    governing = GoverningSerializer(read_only=True)

    class Meta:
        model = Finding
        fields = (
            "key", "campaign", "criterion", "zone", "limit_code", "limit_text", "limit_citation", "verdict", "words",
            "glyph", "met", "fraction", "statement", "advice", "value", "unit", "u", "p_above", "window_start",
            "window_end", "rooms", "method", "digest", "governing",
        )  # fmt: skip

    def get_limit_text(self, finding: Finding) -> str:
        return text_of(finding.criterion.limit)

    def get_limit_citation(self, finding: Finding) -> str:
        return citation_of(finding.criterion.limit)


class ReportSerializer(RowSerializer[Report]):
    campaign = key_of("campaign")
    released = serializers.BooleanField(read_only=True, help_text="Released and not withdrawn.")

    class Meta:
        model = Report
        fields = (
            "key", "campaign", "revision", "changes", "signed_name", "signed_at", "released", "released_at",
            "withdrawn_at", "digest",
        )  # fmt: skip

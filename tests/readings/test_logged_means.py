"""What a stored value stands for: a momentary one, or the mean of an interval that its stamp ends, starts or halves.

Visit from 08:02:20 to 08:05:20 UTC, a value a minute, worked out by hand (docs/methods/placing.md: where more than half
lies).
"""

from __future__ import annotations

from datetime import timedelta

import pytest

from campaigns.models import Campaign, FieldCheck, Instrument
from campaigns.services.tolerances import tolerances
from methods.quantities.flags import Flag
from readings.queries import placed_in, placement_of
from tests import factories as make
from tests.readings.doing import a_log, hand_in, read

SECOND = timedelta(seconds=1)


@pytest.mark.parametrize(
    ("represents", "placed"),
    [
        ("spot", [3, 4, 5]),  # stamped within the visit
        ("end", [3, 4, 5]),  # 3 stands for 08:02–08:03, of which 40 s lie inside; 6 for 20 s only
        ("start", [2, 3, 4]),  # 2 stands for 08:02–08:03
        ("middle", [3, 4, 5]),  # 3 stands for 08:02:30–08:03:30; of 2 only 10 s lie inside
    ],
)
def test_a_value_belongs_where_more_than_half_of_its_interval_lies(
    campaign: Campaign, meter: Instrument, represents: str, placed: list[int]
) -> None:
    meter.type.represents = represents
    meter.type.save()
    make.DeploymentFactory.create(
        campaign=campaign, instrument=meter,
        starts_at=make.START + 140 * SECOND, ends_at=make.START + 320 * SECOND,
    )  # fmt: skip
    upload = hand_in(campaign, a_log(range(10), every_s=60), instrument=meter)
    read(upload)
    (found,) = placed_in(campaign)
    assert found.raw.tolist() == placed
    assert placement_of(upload).shares[0].lines == len(placed)
    assert found.represents == represents


def test_settling_is_counted_from_where_the_interval_began(campaign: Campaign, meter: Instrument) -> None:
    """3 × T90 is 90 s: a mean of 08:01 to 08:02 began 60 s after the start and is settling still."""
    make.DeploymentFactory.create(campaign=campaign, instrument=meter)
    read(hand_in(campaign, a_log(range(10), every_s=60), instrument=meter))

    def settling() -> list[int]:
        (placed,) = placed_in(campaign)
        return [int(raw) for raw, flag in zip(placed.raw, placed.flags, strict=True) if flag & Flag.SETTLING]

    assert settling() == [0, 1]
    meter.type.represents = "end"
    meter.type.save()
    assert settling() == [1, 2]  # 0 stands for the minute before the visit and lies outside


# --- when a check has failed ------------------------------------------------------------------------------------------


def spec(**fields: float | None) -> object:
    return make.ChannelSpecFactory.create(**{"resolution": 0.01, "u_zero": None, "u_span": None, **fields})


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("fields", "zero", "zero_from", "span", "span_from"),
    [
        ({}, 0.01, "none entered: one step of the resolution", 0.10, "none entered: 10 %, common practice"),
        ({"u_zero": 0.02, "u_span": 0.06}, 0.04, "none entered: twice the zero uncertainty", 0.12,
         "none entered: twice the span uncertainty"),
        ({"u_zero": 0.004}, 0.01, "none entered: one step of the resolution", 0.10,
         "none entered: 10 %, common practice"),
        ({"zero_tolerance": 0.025, "span_tolerance": 0.05, "u_zero": 0.5}, 0.025, "as entered", 0.05, "as entered"),
        ({"zero_tolerance": 0.001}, 0.01, "one step of the resolution, which is more than the tolerance entered", 0.10,
         "none entered: 10 %, common practice"),
    ],
)  # fmt: skip
def test_tolerances_and_where_they_come_from(
    fields: dict[str, float], zero: float, zero_from: str, span: float, span_from: str
) -> None:
    found = tolerances(spec(**fields))  # type: ignore[arg-type]
    assert (found.zero, found.zero_from, found.span, found.span_from) == (zero, zero_from, span, span_from)


@pytest.mark.parametrize(
    ("kind", "reference", "observed", "tolerance", "failed"),
    [
        ("zero", 0, 0.002, {}, False),  # two steps of 0.001: within twice the zero uncertainty of 0.002
        ("zero", 0, 0.004, {}, False),
        ("zero", 0, 0.005, {}, True),
        ("zero", 0, 0.005, {"zero_tolerance": 0.006}, False),
        ("zero", 0, 0.002, {"zero_tolerance": 0.001}, True),
        ("span", 1, 0.91, {}, False),  # twice the span uncertainty of 0.05
        ("span", 1, 0.89, {}, True),
        ("span", 1, 0.89, {"span_tolerance": 0.2}, False),
    ],
)
def test_a_check_beyond_its_tolerance_is_said_against_the_readings(
    campaign: Campaign, meter: Instrument, kind: str, reference: float, observed: float, tolerance: dict[str, float],
    failed: bool,
) -> None:  # fmt: skip
    channel = meter.channels.get()
    for name, value in tolerance.items():
        setattr(channel.spec, name, value)
    channel.spec.save()
    make.DeploymentFactory.create(campaign=campaign, instrument=meter)
    FieldCheck.objects.create(channel=channel, kind=kind, at=make.START, reference=reference, observed=observed)
    read(hand_in(campaign, a_log(range(10), every_s=60), instrument=meter))
    (placed,) = placed_in(campaign)
    assert {bool(flag & Flag.FIELD_CHECK_FAILED) for flag in placed.flags.tolist()} == {failed}

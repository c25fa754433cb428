"""Real measurements all the way: handed in as a file, read by the job, held as readings."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

from campaigns.models import Channel
from methods.quantities.flags import Flag
from readings.queries import rows
from tests.readings.doing import EVER, a_log


def test_a_hundred_readings_of_which_half_are_below_detection(take: Any, channel: Channel) -> None:
    """lifelines' ammonium in rain, 46 of 102 below one of several limits (open data table of the check values), as a
    meter of formaldehyde in ppm would have stored the texts, ten seconds apart; against lifelines' own columns."""
    import lifelines.datasets

    frame = lifelines.datasets.load_nh4()
    upload, job = take(a_log(frame["NH4.Orig.mg.per.L"]))
    assert (upload.lines, upload.stored, upload.problem_count) == (102, 102, 0), job.message
    found = rows(channel.pk, *EVER)
    assert found["raw"].tolist() == frame["NH4.mg.per.L"].tolist()
    assert (found["flag"] == Flag.BELOW_DETECTION).tolist() == frame["Censored"].tolist()
    assert int((found["flag"] == Flag.BELOW_DETECTION).sum()) == 46
    assert found["line"].tolist() == list(range(2, 104))
    assert int(found["stamp"][-1] - found["stamp"][0]) == timedelta(seconds=1010) / timedelta(milliseconds=1)

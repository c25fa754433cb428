"""Real measurements that other packages carry, through the reader a user's file goes through."""

from __future__ import annotations

import importlib.resources
from pathlib import Path

import numpy as np
import pytest

from methods.logs import understand
from methods.logs.layouts.layout_answers import answer
from methods.quantities.flags import Flag
from tests.methods.logs.logs import Shape, Whole, clock, ms_of, read_all


def packaged(package: str, *names: str) -> Path:
    return Path(str(importlib.resources.files(package).joinpath(*names)))


def answered(path: Path, **choices: str) -> Whole:
    found = understand(path, name=path.name)
    layout = found.layout
    assert layout is not None
    assert {q.code for q in found.questions} == set(choices)
    for question in found.questions:
        layout = answer(layout, question, choices[question.code])
    return read_all(path, layout)


def test_weekly_carbon_dioxide() -> None:
    """Mauna Loa weekly CO2, 1958-03-29 to 2001-12-29, as statsmodels carries it: 2 284 rows, 59 missing, 313.0 to
    373.9 ppm (open data table of the check values). Against statsmodels' own loader."""
    import statsmodels.datasets.co2

    whole = answered(packaged("statsmodels.datasets.co2", "co2.csv"), unit="ppm")
    frame = statsmodels.datasets.co2.load_pandas().data
    assert len(whole.lines) == len(frame) == 2284
    assert whole.stamps == [ms_of(moment.to_pydatetime()) for moment in frame.index]
    np.testing.assert_array_equal(whole.values[:, 0], frame["co2"].to_numpy(dtype=np.float64))
    assert int(np.isnan(whole.values).sum()) == 59
    assert (np.nanmin(whole.values), np.nanmax(whole.values)) == (313.0, 373.9)
    assert whole.problems == []


@pytest.mark.parametrize("name", ["seattle-temps.csv", "sf-temps.csv"])
def test_hourly_temperatures_with_a_missing_spring_hour(name: str) -> None:
    """Hourly temperatures of 2010 as vega_datasets carries them: 8 759 rows, not 8 760, because one hour is missing at
    the spring clock change (open data table of the check values). Against pandas' own reading of the file."""
    import pandas as pd
    import vega_datasets

    path = Path(vega_datasets.__file__).parent / "_data" / name
    whole = answered(path, unit="°F")
    frame = pd.read_csv(path)
    assert len(whole.lines) == len(frame) == 8759
    assert whole.stamps == [ms_of(m.to_pydatetime()) for m in pd.to_datetime(frame["date"])]
    assert whole.values[:, 0].tolist() == frame["temp"].tolist()
    steps = np.diff(whole.stamps)
    gap = int(np.argmax(steps))
    assert (steps == 3_600_000).sum() == 8757
    assert steps[gap] == 7_200_000
    assert whole.stamps[gap] == ms_of(clock(2010, 3, 14, 2))  # the US change of 2010 is on 14 March
    assert whole.problems == []


@pytest.mark.parametrize("shown", ["{}", " {} ", '"{}"'])
def test_censored_values(tmp_path: Path, shown: str) -> None:
    """W-07: background and compliance wells of EPA's Unified Guidance (2009), example 16-5; a "<" is a detection
    limit, of which there are several."""
    texts = ["<4", "1.5", "<2", "8.7", "5.1", "<5", "6.4", "10.9", "7", "14.3", "1.9", "10", "6.8", "<5"]
    rows = "".join(f"2009-03-{i + 1:02} 12:00,{shown.format(text)}\n" for i, text in enumerate(texts))
    path = tmp_path / "log"
    path.write_text("Time,Benzene (µg/m³)\n" + rows, encoding="utf-8")
    whole = answered(path)
    assert whole.values[:, 0].tolist() == [4, 1.5, 2, 8.7, 5.1, 5, 6.4, 10.9, 7, 14.3, 1.9, 10, 6.8, 5]
    censored = (whole.flags[:, 0] & int(Flag.BELOW_DETECTION)) > 0
    assert [text for text, below in zip(texts, censored, strict=True) if below] == ["<4", "<2", "<5", "<5"]
    assert whole.problems == []


def test_weekly_rain_below_several_detection_limits(tmp_path: Path) -> None:
    """Ammonium in weekly rain as lifelines carries it (open data table of the check values): 102 weeks, 46 of them
    "<" a limit, the others padded texts like " 0.006". Against lifelines' own columns of values and of what is
    censored. Ammonium is no parameter of ours: the texts stand in a column of another one."""
    import lifelines.datasets
    import pandas as pd

    frame = lifelines.datasets.load_nh4()
    texts = frame["NH4.Orig.mg.per.L"].tolist()
    moments = pd.to_datetime(frame["Date.On"])
    rows = [(moment.to_pydatetime(), [text]) for moment, text in zip(moments, texts, strict=True)]
    shape = Shape(names=("Formaldehyde (mg/m³)",), quoted=True, stamp=lambda m: (f"{m:%Y-%m-%d}",))
    whole = answered(shape.write(tmp_path / "log", rows))
    assert len(whole.lines) == len(frame) == 102
    assert whole.stamps == [ms_of(moment.to_pydatetime()) for moment in moments]
    np.testing.assert_array_equal(whole.values[:, 0], frame["NH4.mg.per.L"].to_numpy())
    below = (whole.flags[:, 0] & int(Flag.BELOW_DETECTION)) > 0
    assert below.tolist() == frame["Censored"].tolist()
    assert int(below.sum()) == 46
    assert any(text.startswith(" ") for text in texts)
    assert whole.problems == []


def test_hourly_temperatures_as_another_logger_would_print_them(tmp_path: Path) -> None:
    """San Francisco's 8 759 hours of 2010 again: day first, decimal commas, UTF-16, a preamble, units in a row."""
    import pandas as pd
    import vega_datasets

    frame = pd.read_csv(Path(vega_datasets.__file__).parent / "_data" / "sf-temps.csv")
    moments = pd.to_datetime(frame["date"])
    shape = Shape(
        delimiter=";", decimal=",", encoding="utf-16", line_end="\r\n", names=("Temperature",), units=("°F",),
        stamp=lambda m: (f"{m:%d.%m.%Y}", f"{m:%H.%M.%S}"), time_names=("Date", "Time"), preamble=("Logger memory", ""),
    )  # fmt: skip
    rows = [(m.to_pydatetime(), [f"{t:.1f}"]) for m, t in zip(moments, frame["temp"], strict=True)]
    whole = answered(shape.write(tmp_path / "log", rows))
    assert len(whole.lines) == 8759
    assert whole.stamps == [ms_of(m.to_pydatetime()) for m in moments]
    assert whole.values[:, 0].tolist() == frame["temp"].tolist()
    assert np.diff(whole.stamps).max() == 7_200_000
    assert whole.problems == []

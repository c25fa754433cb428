"""Numbers that stand for no reading among ordinary ones, and numbers like them that are readings.

Common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator

from tests.methods.logs.corpus.answering import by_code
from tests.methods.logs.corpus.faults import NOTHING, PLAIN, STAMPS, Table
from tests.methods.logs.corpus.truth import MINUTE, START, LogCase, TrueReading, Truths
from tests.methods.logs.logs import ms_of

HEADS = {"HCHO (ppm)": ("formaldehyde", "ppm"), "CO2 (ppm)": ("co2", "ppm"), "Temp (°C)": ("temperature", "°C"),
         "RH (%)": ("humidity", "%RH"), "PM2.5 (µg/m³)": ("pm25", "µg/m³")}  # fmt: skip
ORDINARY = {
    "HCHO (ppm)": "0.03{}",
    "CO2 (ppm)": "61{}",
    "Temp (°C)": "21.{}",
    "RH (%)": "44.{}",
    "PM2.5 (µg/m³)": "12.{}",
}
FILLS = {
    "HCHO (ppm)": ("9999", "65535", "-1", "99999"), "CO2 (ppm)": ("9999", "65535", "32767", "-1", "-32768"),
    "Temp (°C)": ("9999", "999.9", "99.9", "6553.5", "-3276.8"), "RH (%)": ("999.9", "6553.5", "-1"),
    "PM2.5 (µg/m³)": ("9999", "65535", "-1"),
}  # fmt: skip
#: Among values of that size.
FAIR = {
    "Temp (°C)": ("-0.5", "-1", "0.5"), "CO2 (ppm)": ("4100", "9999", "5000"), "PM2.5 (µg/m³)": ("99.9", "12.3", "999"),
    "RH (%)": ("99.9", "45.0", "100"), "HCHO (ppm)": ("0.5", "-1", "2.0"),
}  # fmt: skip


def fill_values() -> Iterator[LogCase]:
    table = Table(";")
    for head, numbers in FILLS.items():
        for number in numbers:
            texts = [number if n in (3, 7) else ORDINARY[head].format(n) for n in range(10)]
            content, whole = table(["Time", head], *zip(STAMPS, texts, strict=True)), _truth(head, texts)
            without = _without(number, whole)
            for said, truth in (("no reading", without), ("a reading", whole)):
                yield LogCase(f"stands for none: {number} in {head}", content, NOTHING, by_code({"fill": said}), truth)
            late = [number if n == 650 else ORDINARY[head].format(n % 10) for n in range(700)]
            truth = _without(number, _truth(head, late))
            yield LogCase(f"stands for none: {number} in {head}, late", _long_log(table, head, late), truth)
    for head, fair in FAIR.items():
        texts = [fair[n % 3] for n in range(10)]
        yield LogCase(
            f"a fair number: {head}", table(["Time", head], *zip(STAMPS, texts, strict=True)), _truth(head, texts)
        )
    content = table(["Time", "CO2 (ppm)"], *((stamp, "9999") for stamp in STAMPS))
    yield LogCase("stands for none: throughout", content, NOTHING, by_code({"fill": "no reading"}))
    lines = ((stamp, name, text) for stamp in STAMPS for name, text in (("CO2 (ppm)", "612"), ("Temp (°C)", "999.9")))
    content = table(["Time", "Parameter", "Value"], *lines)
    answers = by_code({"fill": "no reading"})
    yield LogCase("stands for none: a line to each value", content, NOTHING, answers, _truth("CO2 (ppm)", ["612"] * 10))


def _truth(head: str, texts: list[str]) -> Truths:
    return frozenset(TrueReading(ms_of(START + n * MINUTE), *HEADS[head], float(text)) for n, text in enumerate(texts))


def _without(number: str, readings: Truths) -> Truths:
    return frozenset(reading for reading in readings if reading.value != float(number))


def _long_log(table: Table, head: str, texts: list[str]) -> bytes:
    return table(["Time", head], *((f"{START + n * MINUTE:{PLAIN}}", text) for n, text in enumerate(texts)))

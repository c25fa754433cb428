"""Files in encodings that are not Unicode: by words that are known, by words that are not, and by units alone.

Words from memory; encodings are those of Python's codecs.
"""

from __future__ import annotations

from collections.abc import Iterator

from methods.logs.text.encodings import ENCODINGS
from tests.methods.logs.corpus.answering import by_code
from tests.methods.logs.corpus.truth import COLUMNS, FORMALDEHYDE, MOMENTS, TEMPERATURE, LogCase, truth_of

HCHO, _, TEMP = COLUMNS[:3]
#: For each encoding: time, formaldehyde, temperature, and a column of remarks.
WORDS: dict[str, tuple[str, str, str, str]] = {
    "cp1252": ("Zeit", "Formaldéhyde", "Température", "Größe"),
    "cp850": ("Zeit", "Formaldéhyde", "Température", "Größe"),
    "cp437": ("Zeit", "Formaldéhyde", "Température", "Größe"),
    "cp1251": ("Время", "Формальдегид", "Температура", "Примечание"),
    "koi8_r": ("Время", "Формальдегид", "Температура", "Примечание"),
    "gb18030": ("时间", "甲醛", "温度", "备注"),
    "big5": ("時間", "甲醛", "溫度", "備註"),
    "cp932": ("日時", "ホルムアルデヒド", "温度", "備考"),
    "euc_jp": ("日時", "ホルムアルデヒド", "温度", "備考"),
    "cp949": ("시간", "포름알데히드", "Temp", "비고"),
}
DEGREE = {"gb18030": "℃", "big5": "℃", "cp932": "℃", "euc_jp": "℃", "cp949": "℃"}
STAMPS = [f"{moment:%Y-%m-%d %H:%M:%S}" for moment in MOMENTS]
BOTH = truth_of((HCHO, TEMP))


def table(encoding: str, head: str, note: str = "") -> bytes:
    lines = [f"{s};{h};{t};{note}\n" for s, h, t in zip(STAMPS, FORMALDEHYDE, TEMPERATURE, strict=True)]
    return (head + "\n" + "".join(lines)).encode(encoding)


def charsets() -> Iterator[LogCase]:
    for encoding, (time, formaldehyde, temperature, remark) in WORDS.items():
        degree = DEGREE.get(encoding, "°C")
        unknown = "Formaldehyde" if encoding == "cp949" else "Temperature"
        said = by_code({"encoding": ENCODINGS[encoding], "parameter": unknown})
        head = f"{time};{formaldehyde} (ppm);{temperature} ({degree});{remark}"
        yield LogCase(f"encodings: {encoding}", table(encoding, head), BOTH, said)
        yield LogCase(f"encodings: {encoding}, remarks in each line", table(encoding, head, remark), BOTH, said)
        plain = f"Time;{formaldehyde} (ppm);Temp ({degree});{remark}"
        yield LogCase(f"encodings: {encoding}, some plain names", table(encoding, plain), BOTH, said)
        unit = f"Time;HCHO (ppm);Temp ({degree});Note"
        yield LogCase(f"encodings: {encoding}, only units", table(encoding, unit), BOTH, said)
        capitals = f"TIME;{formaldehyde.upper()} (ppm);TEMP ({degree});{remark.upper()}"
        yield LogCase(f"encodings: {encoding}, capitals", table(encoding, capitals), BOTH, said)
        only = f"Time;HCHO (ppm);Temp (C);{remark}"
        yield LogCase(f"encodings: {encoding}, a column that is left out", table(encoding, only), BOTH, said)
        wide = table("utf-16-le", head)
        yield LogCase(f"encodings: words of {encoding} in UTF-16 without a mark", wide, BOTH, said)
        yield LogCase(f"encodings: words of {encoding} in UTF-16 turned round", table("utf-16-be", head), BOTH, said)
    torn = table("utf-8", "Zeit;HCHO (ppm);Temp (°C);Größe (µm)", "groß").replace("groß".encode(), b"gro\xc3", 1)
    yield LogCase("encodings: UTF-8 with a broken character", torn, BOTH)

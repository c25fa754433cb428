"""JSON lines: one object per line, nested objects laid flat."""

from __future__ import annotations

from collections import Counter

from methods.logs.delimited import finish
from methods.logs.messages import json_doubles
from methods.logs.sketch import Sketch, make_sketch
from methods.logs.text.cutting import DOUBLE_KEY, Uncuttable, json_cells, json_object
from methods.logs.text.sample import FileSample
from methods.logs.types import Layout, Unreadable

#: Share of lines that must be objects.
ENOUGH = 0.8
MOST_KEYS = 200


def sketches(sample: FileSample) -> list[Sketch]:
    """Raises Unreadable where most objects have a key twice."""
    lines = [line for line in sample.lines if line.strip()]
    keys: dict[str, None] = {}
    objects, twice = 0, list[str]()
    for line in lines:
        if line.lstrip().startswith("{"):
            try:
                keys.update(dict.fromkeys(json_object(line)))
                objects += 1
            except Uncuttable as error:
                twice += [error.said] if error.code == DOUBLE_KEY else []
    if 2 * len(twice) > len(lines):
        raise Unreadable(json_doubles(twice[0]))
    objects += len(twice)
    names = list(keys)
    if objects < max(1, ENOUGH * len(lines)) or not 1 < len(names) <= MOST_KEYS:
        return []
    rows = [_cells(line, names) for line in sample.lines]
    sketch = make_sketch(rows, Layout("jsonl", sample.encoding, sample.container))
    if sketch is None:
        return []
    sketch.put(first_data_line=1)
    sketch.set_names(names)
    for at, key in enumerate(names):
        sketch.set_column(at, key=key)
    return [finish(sketch)]


def is_object(line: str) -> bool:
    try:
        return bool(json_object(line))
    except Uncuttable:
        return False


def lists_in(sample: FileSample) -> list[str]:
    """The keys under which most lines have a list."""
    counts: Counter[str] = Counter()
    for line in sample.lines:
        counts.update(key for key, text in _object(line).items() if text.startswith("["))
    lines = sum(1 for line in sample.lines if line.strip())
    return [key for key, count in counts.items() if 2 * count > lines]


def _object(line: str) -> dict[str, str]:
    try:
        return json_object(line)
    except Uncuttable:
        return {}


def _cells(line: str, names: list[str]) -> list[str]:
    try:
        return json_cells(line, names)
    except Uncuttable:
        return [""] * len(names)

"""SVG plans: read without entities, and written anew from what is allowed.

No script, no foreign content, no address, no stylesheet stays. Rules for classes, as drawing programs write them, are
turned into attributes first, so that a plan keeps its line widths.
"""

from __future__ import annotations

import math
import re
from collections import Counter
from collections.abc import Iterator, Mapping
from typing import Any
from xml.etree import ElementTree

from defusedxml import DefusedXmlException
from defusedxml.ElementTree import fromstring

from methods.floorplans.images.plan_image import ImageRefused, PlanImage
from methods.floorplans.images.svg_allowed import AS_GROUP, ATTRIBUTES, ELEMENTS, PAINT, harmless

SVG = "http://www.w3.org/2000/svg"
MOST_ELEMENTS, DEEPEST, MOST_BYTES = 100_000, 60, 10 * 1024 * 1024
LONGER_SIDE_PX = 2400.0
_RULE = re.compile(r"\.([\w-]+)\s*\{([^{}]*)\}")
_LENGTH = re.compile(r"^\s*([0-9.]+(?:e[+-]?\d+)?)\s*(px|pt|mm|cm|in)?\s*$", re.IGNORECASE)
_NOT_SAID = {"metadata", "namedview", "style", "title", "desc"}  # nobody misses these on a plan
Rules = Mapping[str, Mapping[str, str]]


def cleaned(content: bytes) -> PlanImage:
    """The drawing of an SVG file with nothing in it that could act or reach out. Raises ImageRefused."""
    if len(content) > MOST_BYTES:
        raise ImageRefused(f"The SVG is larger than {MOST_BYTES // 1024 // 1024} MB. Save it as PNG.")
    root = _parsed(content)
    width, height, view = _size(root)
    left_out: Counter[str] = Counter()
    drawing = _copy(root, _rules(root), left_out)
    if drawing is None or not any(True for _ in drawing):
        raise ImageRefused("Nothing of this SVG can be drawn.")
    drawing.attrib.update({"viewBox": view, "width": f"{width}", "height": f"{height}"})
    for name in ("x", "y"):
        drawing.attrib.pop(name, None)
    ElementTree.register_namespace("", SVG)
    return PlanImage(
        "svg", ElementTree.tostring(drawing, encoding="utf-8", xml_declaration=True), width, height,
        tuple(f"{name} × {count}" for name, count in sorted(left_out.items()) if name not in _NOT_SAID),
    )  # fmt: skip


def _parsed(content: bytes) -> ElementTree.Element:
    try:
        root: ElementTree.Element = fromstring(content)
    except DefusedXmlException as error:
        raise ImageRefused("The SVG defines entities of its own, which are not read. Save it as plain SVG.") from error
    except (ElementTree.ParseError, ValueError, LookupError, RecursionError) as error:
        raise ImageRefused(f"The SVG cannot be read: {error}.") from error
    if _name(root) != "svg":
        raise ImageRefused("This is not an SVG file.")
    for count, (_, depth) in enumerate(_walk(root), start=1):
        if count > MOST_ELEMENTS or depth > DEEPEST:
            raise ImageRefused("The SVG is too complex. Save it as PNG.")
    return root


def _walk(root: ElementTree.Element) -> Iterator[tuple[ElementTree.Element, int]]:
    waiting = [(root, 0)]
    while waiting:
        element, depth = waiting.pop()
        yield element, depth
        waiting += [(child, depth + 1) for child in element]


def _name(element: ElementTree.Element) -> str:
    """The element's name when it is SVG (or has no namespace); "" for elements of other namespaces and comments."""
    tag: Any = element.tag
    if not isinstance(tag, str):
        return ""
    space, _, name = tag.rpartition("}")
    return name if space in ("", "{" + SVG) else f"other:{name}"


def _rules(root: ElementTree.Element) -> Rules:
    sheets = [element.text or "" for element, _ in _walk(root) if _name(element) == "style"]
    return {name: _declarations(body) for sheet in sheets for name, body in _RULE.findall(sheet)}


def _declarations(text: str) -> dict[str, str]:
    pairs = (part.partition(":") for part in text.split(";"))
    stripped = ((name.strip().lower(), value.replace("!important", "").strip()) for name, _, value in pairs)
    return {name: value for name, value in stripped if name in PAINT and value and harmless(value)}


def _copy(element: ElementTree.Element, rules: Rules, left_out: Counter[str]) -> ElementTree.Element | None:
    name = _name(element)
    if name in AS_GROUP:
        name = "g"
    if name not in ELEMENTS:
        if name:
            left_out[name.removeprefix("other:")] += 1
        return None
    fresh = ElementTree.Element(f"{{{SVG}}}{name}", _attributes(element, rules))
    fresh.text, children = element.text, []
    for child in element:
        copied = _copy(child, rules, left_out)
        if copied is not None:
            copied.tail = child.tail
            children.append(copied)
    fresh.extend(children)
    return fresh


def _attributes(element: ElementTree.Element, rules: Rules) -> dict[str, str]:
    kept = {name: value for name, value in element.attrib.items() if name in ATTRIBUTES and harmless(value)}
    for name in element.attrib.get("class", "").split():
        kept |= rules.get(name, {})
    return kept | _declarations(element.attrib.get("style", ""))


def _size(root: ElementTree.Element) -> tuple[int, int, str]:
    """Width and height in pixels with the longer side at 2400, and the view box."""
    try:
        x, y, width, height = (float(part) for part in root.attrib.get("viewBox", "").replace(",", " ").split())
    except ValueError:
        x, y, width, height = 0.0, 0.0, _length(root, "width"), _length(root, "height")
    if not all(map(math.isfinite, (x, y, width, height))) or width <= 0 or height <= 0:
        raise ImageRefused("The SVG does not say how large it is: it has neither a view box nor a width and a height.")
    if max(width, height) > 1000 * min(width, height):
        raise ImageRefused("The SVG is a thousand times longer than it is wide.")
    scale = LONGER_SIDE_PX / max(width, height)
    return max(round(width * scale), 1), max(round(height * scale), 1), f"{x:g} {y:g} {width:.10g} {height:.10g}"


def _length(root: ElementTree.Element, name: str) -> float:
    match = _LENGTH.match(root.attrib.get(name, ""))
    to_px = {"px": 1.0, "pt": 96 / 72, "mm": 96 / 25.4, "cm": 96 / 2.54, "in": 96.0}
    return float(match[1]) * to_px[(match[2] or "px").lower()] if match else 0.0

"""What may stand in an SVG plan. Everything that is not named here is left out."""

from __future__ import annotations

import re

SHAPES = frozenset({"path", "rect", "circle", "ellipse", "line", "polyline", "polygon", "text", "tspan"})
ELEMENTS = SHAPES | {"svg", "g", "a", "defs", "title", "desc", "clipPath", "linearGradient", "radialGradient", "stop"}
#: Become a plain group: their content is drawing, what they do themselves is not.
AS_GROUP = frozenset({"a", "switch"})

_PAINT = (
    "fill fill-opacity fill-rule stroke stroke-width stroke-opacity stroke-linecap stroke-linejoin stroke-dasharray "
    "stroke-dashoffset stroke-miterlimit opacity color display visibility font-family font-size font-weight font-style "
    "text-anchor dominant-baseline letter-spacing clip-path clip-rule stop-color stop-opacity vector-effect"
)
_PLACE = (
    "id d x y x1 y1 x2 y2 cx cy r rx ry fx fy dx dy width height points transform viewBox preserveAspectRatio rotate "
    "textLength lengthAdjust offset gradientUnits gradientTransform spreadMethod clipPathUnits pathLength"
)
#: Named by stylesheets and by attributes alike.
PAINT = frozenset(_PAINT.split())
ATTRIBUTES = PAINT | frozenset(_PLACE.split())

_LOCAL = re.compile(r"url\(\s*['\"]?#[\w.-]+['\"]?\s*\)")
_HARM = re.compile(r"url\s*\(|expression|javascript:|data:|@import|&\{|\\|<|>", re.IGNORECASE)


def harmless(value: str) -> bool:
    """Whether an attribute's value names nothing outside the file: ``url(#part)`` may, other addresses may not."""
    return _HARM.search(_LOCAL.sub("", value)) is None

"""What the invented rooms are made of and who sits in them: the numbers ``demo.physics`` runs on.

Pure. All figures are invented so that the house tells a story; none is a measurement of anything.
"""

from __future__ import annotations

Occupancy = tuple[tuple[float, float, float], ...]  # from hour, to hour (local), adult equivalents

#: Formaldehyde given off per m² of floor at 25 °C and 50 %RH, µg/(m²·h): by zone, or by room where it differs.
EMISSION: dict[str, float] = {
    "nursery": 155.0,
    "kitchen": 190.0,
    "refurbished": 260.0,
    "meeting": 300.0,
    "old": 45.0,
    "print": 330.0,
    "studio": 125.0,
    "canteen": 60.0,
    "archive": 90.0,
    "0.02": 180.0,
    "0.05": 124.0,
    "1.02": 300.0,
    "1.05": 235.0,
    "1.10": 240.0,
    "2.08": 420.0,
    "2.09": 230.0,
    "3.02": 168.0,
}

#: Air changes per hour with the plant on and off. The refurbished zone's supply was never balanced.
AIR: dict[str, tuple[float, float]] = {
    "nursery": (1.6, 0.7),
    "kitchen": (1.9, 0.7),
    "refurbished": (0.50, 0.35),
    "meeting": (1.0, 0.6),
    "old": (0.9, 0.5),
    "print": (1.1, 0.7),
    "studio": (1.0, 0.6),
    "canteen": (1.8, 0.6),
    "archive": (0.3, 0.3),
    "0.05": (1.1, 0.65),
}

#: Added to the floor's usual temperature, °C.
WARMER: dict[str, float] = {"2.07": 1.2, "3.01": 0.4, "3.06": 0.6, "0.06": 0.8}

#: A napping small child counts as a third of a seated adult.
OCCUPANTS: dict[str, Occupancy] = {
    "1.04": ((8.0, 12.25, 3.0), (13.0, 17.0, 3.0)),
    "0.05": ((12.0, 14.0, 6.0),),
}

"""The building in section: how wide each zone of a floor is drawn."""

from __future__ import annotations

from collections.abc import Sequence

STEPS, LEAST = 24, 3
MOST_IN_A_ROW = STEPS // LEAST


def spans(areas: Sequence[float | None]) -> list[int]:
    """The width of each zone of one floor in steps, 24 to a row, in proportion to its floor area; none below 3.

    A zone without a known area is drawn as wide as the mean of the others. More than eight zones fill several rows.
    """
    known = [area for area in areas if area]
    usual = sum(known) / len(known) if known else 1.0
    sizes = [area or usual for area in areas]
    rows = -(-len(sizes) // MOST_IN_A_ROW) or 1
    per_row = max(1, -(-len(sizes) // rows))
    return [span for at in range(0, len(sizes), per_row) for span in _row(sizes[at : at + per_row])]


def _row(sizes: Sequence[float]) -> list[int]:
    """Largest remainders over what is left when everybody has the least."""
    free = STEPS - LEAST * len(sizes)
    shares = [size / sum(sizes) * STEPS for size in sizes]
    wanted = [max(0.0, share - LEAST) for share in shares]
    scale = free / sum(wanted) if sum(wanted) else 0.0
    exact = [want * scale for want in wanted] if scale else [free / len(sizes)] * len(sizes)
    whole = [int(part) for part in exact]
    order = sorted(range(len(sizes)), key=lambda i: (whole[i] - exact[i], i))
    for i in order[: free - sum(whole)]:
        whole[i] += 1
    return [LEAST + part for part in whole]

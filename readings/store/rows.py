"""The shape of readings that come back from the database, the same for both engines."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import numpy as np
import numpy.typing as npt

TABLE = "readings_reading"

HELD = np.dtype(
    [("stamp", "i8"), ("nth", "i8"), ("raw", "f8"), ("flag", "i8"), ("upload_id", "i8"), ("line", "i8")]
)
HELD_COLUMNS = ", ".join(HELD.names or ())
SELECT_HELD = (
    f"SELECT {HELD_COLUMNS} FROM {TABLE} WHERE channel_id = %s AND stamp BETWEEN %s AND %s ORDER BY stamp, nth"  # noqa: S608
)


def as_held(rows: Iterable[tuple[Any, ...]]) -> npt.NDArray[Any]:
    """A structured array of HELD; NULL becomes nan."""
    return np.array([(s, n, np.nan if r is None else r, f, u, ln) for s, n, r, f, u, ln in rows], dtype=HELD)

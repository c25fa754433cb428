"""The arrays of numbers the tree works on, by what they hold: one name for each type."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]  # values; NaN is "none"
Ints = NDArray[np.int64]  # stamps and moments in ms, counts
Bools = NDArray[np.bool_]
Indexes = NDArray[np.intp]  # places in another array
Flags = NDArray[np.int32]  # methods.quantities.flags.Flag, and the clock's
Shorts = NDArray[np.int16]  # flags as they are stored
Codes = NDArray[np.int8]  # places in a short list of codes
Bytes = NDArray[np.uint8]  # a file as it came
Words = NDArray[np.uint64]  # eight bytes read as one number

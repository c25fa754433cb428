"""From an older format of what a result is traced by to the next one: a function of the stored part, by its number.

Nothing is added that was not worked out then.
"""

from __future__ import annotations

from typing import Any, Literal

Part = Literal["trace", "budget", "reasons"]


def at_the_limit(part: Part, stored: Any) -> Any:
    """To 2: the uncertainty at the limit, and its degrees of freedom."""
    if part != "trace" or stored == {"format": 1}:
        return stored
    return stored | {"u_at_limit": None, "dof": None}

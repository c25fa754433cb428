"""How many examples of a property are tried: all in CI, fewer where somebody waits and tries others next time."""

from __future__ import annotations

from hypothesis import settings

#: Of the examples that CI tries, one in so many.
SHARE = 4
#: The profile of ``make test``; CI chooses ``ci`` by ``--hypothesis-profile``.
QUICK = "quick"


def register() -> None:
    settings.register_profile(QUICK, max_examples=settings.get_profile("default").max_examples // SHARE)


def examples(full: int) -> int:
    """``max_examples`` of a test that says by itself how many there shall be."""
    return -(-full // SHARE) if settings.get_current_profile_name() == QUICK else full

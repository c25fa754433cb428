"""What stands before all other work: told by the apps above, which know what it is."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from campaigns.models import User


@dataclass(frozen=True)
class Urgent:
    """One thing that somebody has to answer. ``state``: a word for how it stands; ``late``: it should have been."""

    state: str
    title: str
    url: str
    when: str
    late: bool


Finder = Callable[[User], list[Urgent]]
_finders: list[Finder] = []


def urgent(finder: Finder) -> Finder:
    """Register a function that finds what ``person`` may see of it, most urgent first."""
    _finders.append(finder)
    return finder


def urgent_for(person: User) -> list[Urgent]:
    return [each for finder in _finders for each in finder(person)]

"""What a result is traced by: what its sentence and its page say beside its columns, down to the lines of the files."""

from __future__ import annotations

from dataclasses import dataclass
from math import inf

from reports.trace.outdoor import NOT_ASKED, OutdoorBeside, OutdoorComparison
from reports.trace.readings import SourceReading

#: Of what is stored as trace, budget and reasons of a result together. Raised whenever a field of one of these comes,
#: goes or changes its meaning; ``stored.UPGRADERS`` then says how the older ones are read.
FORMAT = 2


@dataclass(frozen=True, slots=True)
class BudgetPart:
    """One part of the uncertainty: its standard uncertainty ``u`` in the unit of the limit and its share (0 to 1) of
    the variance, both None where nobody knows it (``missing``); ``source``: where the figure comes from."""

    name: str
    u: float | None
    share: float | None
    source: str
    missing: bool


@dataclass(frozen=True, slots=True)
class ResultTrace:
    """As it stands by itself (``UNTRACED``) it is that of a result without a value.

    What was measured: ``instrument``, ``channel`` in words, several joined by "; "; ``deployments``: keys of those
    taken together, in order of time; ``interval_s``: the longest logging interval, seconds; ``unit``: of the limit,
    with its reference, in words; ``place``: the kind of place, empty where nobody said; ``personal``: worn by a person.

    What was computed: ``lower``, ``upper``: bounds of the value where readings are below detection, in the unit of the
    limit, else None; ``is_lower_bound``: a reading was over range; ``is_context``: not the statistic the limit asks
    for but the mean of the visit; ``said``: conversions and other assumptions, each a part of a sentence; ``details``:
    (name, words), such as gaps, blocks, shift; ``outdoor``: the outdoor air beside it; ``first``, ``last``: readings of
    the window.

    What was judged: ``words``: the verdict; ``levels``: of probability, in words; ``is_met``: whether the limit is
    met, None while undecided or not comparable; ``p_not_met``: the probability that it is not, 0 to 1; ``edge``: the
    value it is held against, in the unit of the limit; ``is_upper``: a high value concerns; ``advice``: what would
    decide it; ``u_at_limit``: the standard uncertainty a true value at ``edge`` would have, with which the probability
    was worked out, and ``dof`` its effective degrees of freedom, None where it is well known.
    """

    format: int = FORMAT
    instrument: str = ""
    channel: str = ""
    deployments: tuple[str, ...] = ()
    interval_s: float = 0.0
    unit: str = ""
    lower: float | None = None
    upper: float | None = None
    is_lower_bound: bool = False
    said: tuple[str, ...] = ()
    details: tuple[tuple[str, str], ...] = ()
    outdoor: OutdoorBeside = NOT_ASKED
    place: str = ""
    personal: bool = False
    is_context: bool = False
    first: SourceReading | None = None
    last: SourceReading | None = None
    advice: str = ""
    levels: str = ""
    words: str = ""
    is_met: bool | None = None
    p_not_met: float | None = None
    edge: float | None = None
    is_upper: bool = True
    u_at_limit: float | None = None
    dof: float | None = None

    @property
    def freedom(self) -> float:
        """Effective degrees of freedom at the limit."""
        return inf if self.dof is None else self.dof

    @property
    def channels(self) -> list[str]:
        return self.channel.split("; ")

    @property
    def compared(self) -> OutdoorComparison | None:
        """The outdoor air beside it, where there is any."""
        return self.outdoor if isinstance(self.outdoor, OutdoorComparison) else None

    @property
    def taken_off(self) -> OutdoorComparison | None:
        """The outdoor air that was taken off, where it was."""
        return self.compared if self.compared is not None and self.compared.taken_off else None


UNTRACED = ResultTrace()

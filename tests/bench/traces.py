"""What results are traced by, as JSON: our records held against dictionaries of the same, by the standard library.

Written as evaluation writes them, read as a page that lists them reads them (there the other side, ``json.loads``, is
what the driver has done before). Each side takes the same results of the house, in turn.
"""

from __future__ import annotations

import json
from collections.abc import Callable

from tests.bench.stage import Score, Spent, least, ratio, spent

TIMES, AT_MOST = 7, 4000


def _in_turn(ours: Callable[[], object], other: Callable[[], object]) -> tuple[Spent, Spent]:
    pairs = [(spent(ours)[0], spent(other)[0]) for _ in range(TIMES)]
    return least([one for one, _ in pairs]), least([two for _, two in pairs])


def rows_of(vendor: str) -> list[Score]:
    """Of the results that are stored."""
    from reports.models import Result
    from reports.trace.stored import BUDGET, REASONS, read_trace, trace_text

    stored = [(r.trace, r.budget, r.reasons) for r in Result.objects.all()[:AT_MOST]]
    records = [(read_trace(trace), BUDGET.read(budget), REASONS.read(reasons)) for trace, budget, reasons in stored]
    texts = [json.dumps(trace) for trace, *_ in stored]
    plain = json.JSONEncoder(ensure_ascii=False)

    def write() -> list[object]:
        return [(trace_text(trace), BUDGET.text(budget), REASONS.text(reasons)) for trace, budget, reasons in records]

    def write_plainly() -> list[object]:
        return [[plain.encode(part) for part in parts] for parts in stored]

    writing = _in_turn(write, write_plainly)
    reading = _in_turn(lambda: [read_trace(trace) for trace, *_ in stored], lambda: [json.loads(t) for t in texts])
    count = f"{len(stored):,} results"
    return [
        ratio(f"records of {count} to JSON / json of dictionaries", vendor, *writing, "<= 1.05", 1.05),
        ratio(f"traces of {count} from JSON / json.loads", vendor, *reading, "<= 2", 2),
    ]

"""What the consultant and the client of the demo agreed on before the visit. Invented, like everything in it."""

from __future__ import annotations

from datetime import UTC, datetime

from campaigns.services.agreements import AgreementWords
from methods.wording.agreements import UNDECIDED_STARTS
from methods.wording.numbers import mid_sentence

AGREED: AgreementWords = {
    "question": (
        "Is there more formaldehyde in the refurbished offices on the first floor, in the other rooms of the house or "
        "in the nursery below than the chosen limits allow, for the people and the children who use them on working "
        "days in September, with windows closed since the evening before?"
    ),
    "decision": (
        "Whether the first floor and the nursery stay in use as they are, are aired by a fixed plan, or are closed "
        "until the new flooring and furniture have been looked at. The owner decides; the consultant advises."
    ),
    "undecided": f"{UNDECIDED_STARTS[1]}\nIn the nursery: {mid_sentence(UNDECIDED_STARTS[2])}",
}
#: Why the archive, which was agreed, is not in the report.
UNMEASURED = "The archive was locked on all three days, and the owner asked not to wait for the key."
#: Offered, accepted.
AGREED_AT = (datetime(2026, 9, 2, 13, 20, tzinfo=UTC), datetime(2026, 9, 4, 8, 5, tzinfo=UTC))

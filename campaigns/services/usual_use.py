"""The usual time of use by kind of place, to begin with where nobody has said it: common practice, no source.

Holidays are not in it: they differ by country and year, and are added by whoever knows them.
"""

from __future__ import annotations

from campaigns.models import PlaceKind

USUAL: dict[PlaceKind, str] = {
    PlaceKind.DWELLING: "Mon-Fri 17:00-08:00\nSat-Sun 00:00-24:00",
    PlaceKind.SCHOOL: "Mon-Fri 08:00-16:00",
    PlaceKind.CARE: "Mon-Sun 00:00-24:00",
    PlaceKind.OFFICE: "Mon-Fri 08:00-18:00",
    PlaceKind.PUBLIC: "Mon-Sat 09:00-18:00",
    PlaceKind.WORKPLACE: "Mon-Fri 07:00-16:00",
}
NOTE = "Usual for this kind of place: {kind}. Common practice; holidays are not in it."

"""Before the visit: what each of the house's channels can decide about each criterion."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

from campaigns.models import Campaign, ChannelSpec
from campaigns.pages.chosen_criteria import Chosen
from campaigns.services.fitness import fit

Told = dict[str, Any]


def channels(campaign: Campaign) -> list[ChannelSpec]:
    """Of every instrument type of the organisation. One query."""
    organisation = campaign.site.organisation_id
    specs = ChannelSpec.objects.filter(instrument_type__organisation=organisation).select_related("instrument_type")
    return list(specs.order_by("instrument_type__name", "parameter", "unit"))


def told(campaign: Campaign, chosen: Chosen, specs: Iterable[ChannelSpec]) -> list[Told]:
    """One sentence per channel that measures what the criterion limits: {type, channel, words, decides}.

    decides: "yes" it can show the limit kept; "exceeded only"; "no"; "" where no conversion exists.
    """
    out = []
    for spec in specs:
        if spec.parameter == chosen.limit.parameter:
            fit_or_reason = fit(spec, chosen.limit, campaign)
            if isinstance(fit_or_reason, str):
                words, decides = fit_or_reason, ""
            else:
                words = fit_or_reason.words
                decides = (
                    "yes"
                    if fit_or_reason.can_show_compliance
                    else "exceeded only"
                    if fit_or_reason.can_show_exceedance
                    else "no"
                )
            out.append({"type": spec.instrument_type, "channel": spec, "words": words, "decides": decides})
    return out


def summary(rows: Sequence[Told]) -> str:
    """In one sentence, worth knowing before anybody drives there."""
    fit = sum(row["decides"] == "yes" for row in rows)
    if not fit:
        return "None of your instruments can show that this limit is kept"
    if fit == len(rows):
        return "All of your instruments that measure it can show this limit kept"
    return f"{fit} of your {len(rows)} kinds of instrument that measure it can show this limit kept"


Unfit = tuple[Chosen, str, list[Told]]


def unfit(campaign: Campaign, criteria: Sequence[Chosen], specs: Sequence[ChannelSpec]) -> list[Unfit]:
    """Criteria that not every instrument can show kept: the criterion, a summary, and the channels that cannot."""
    out = []
    for chosen in criteria:
        rows = told(campaign, chosen, specs)
        bad = [row for row in rows if row["decides"] != "yes"]
        if bad or not rows:
            out.append((chosen, summary(rows) if rows else "None of your instrument types measures it", bad))
    return out

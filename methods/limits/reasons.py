"""Why a campaign of hours or days may say what it may say about a limit, in words.

Data files name a reason by its code, so that the same reason reads the same everywhere. The rules follow T5, T7 and
T9 to T12 of the guidelines reference; that five readings make a 15-minute mean is an engineering rule there.
"""

from __future__ import annotations

REASONS: dict[str, str] = {
    "spot": "The document judges momentary readings, and that is what a meter gives.",
    "day_readings": "The document judges the mean of the readings of a working day, hours apart; a visit only "
    "indicates it, and a single reading does not.",
    "minutes_15": "A 15-minute mean needs at least five readings in the window and a sensor that settles within about "
    "two minutes.",
    "minutes_30": "A 30-minute mean can be followed through the log and judged at its worst window.",
    "hour": "A one-hour mean can be judged where at least 75 % of the hour was logged.",
    "hours": "A mean over hours can be judged where the whole window was logged.",
    "day": "A 24-hour mean needs at least 18 hours of data; a visit of an hour cannot be compared.",
    "long_term_8h": "A long-term guideline which its document compares with an 8-hour sample: log the 8 hours; it is "
    "not a limit for a shift.",
    "long_term_24h": "A long-term guideline which its document compares with a 24-hour sample: log the day, 18 "
    "hours at the least.",
    "outdoor_hour": "A one-hour mean for outdoor air: compare outdoor points only.",
    "personal": "The limit is for the breathing zone of a worker; readings in a room only indicate it.",
    "ceiling": "A ceiling for the air of a room: readings only show that it was not seen exceeded at the logging "
    "interval.",
    "personal_ceiling": "A ceiling for the breathing zone of a worker: readings in a room only show that it was not "
    "seen exceeded at the logging interval.",
    "personal_15": "A 15-minute mean in the breathing zone of a worker: it needs at least five readings in the window, "
    "and readings in a room only indicate it.",
    "personal_unstated": "A workplace value without a stated averaging time; readings in a room only indicate it.",
    "unstated": "The averaging time was not seen in the document, so a window of ours only indicates it.",
    "sample": "The document asks for its own sampling and analysis; direct reading over the same time only "
    "indicates it.",
    "sampler_days": "The document asks for a passive sampler over days; direct reading only indicates it, and only if "
    "logged as long and shown equivalent.",
    "acceptance": "An acceptance test with prescribed closing time and analysis; direct reading only indicates it.",
    "tvoc_method": "Total VOC by sorbent and gas chromatography is another quantity than the reading of a TVOC sensor.",
    "tvoc_sensor": "A TVOC reading only indicates it, and only if its equivalent and method match those of the "
    "document.",
    "design": "A design or target value at steady state, not a limit for a stretch of readings; occupied hours only "
    "indicate it.",
    "outdoor_needed": "The limit is a difference to the outdoor air, so it needs an outdoor value from the same time.",
    "design_outdoor": "A design value above outdoor air: occupied hours only indicate it, and the outdoor value has to "
    "be measured.",
    "annual": "A mean over a year cannot be judged from hours or days.",
    "lifetime": "A mean over a lifetime cannot be judged from hours or days.",
    "months": "A mean over months cannot be judged from hours or days.",
    "exposure_days": "A screening value for exposure over days to years, not a limit; hours of readings say nothing "
    "about it.",
    "percentile": "A rank or a count of exceedances within a year or years cannot be judged from hours or days.",
    "repeated": "The value is for exposure repeated day after day; one window only indicates it.",
    "consecutive": "The document counts consecutive minutes above the value; a mean over that time only indicates it.",
    "occupied_day": "The mean of an occupied day can be judged where three quarters of the time of use of a day were "
    "logged.",
    "radon": "Radon is judged over a year; a test of hours or days is a screen, a statement needs three months.",
    "radon_acceptance": "An acceptance test for radon after 24 hours closed; readings of hours are a screen.",
    "hazard": "A hazard value for risk assessment, not a limit for air.",
    "escape": "An escape level, not a limit to work or live under; it may serve as an alarm.",
    "chamber": "A chamber test of a product at fixed climate, air change and loading says nothing about a room.",
    "not_in_force": "Not in force: shown for context only.",
    "outdoor_law": "A limit of outdoor air law with its own stations and counting; shown for context only.",
}

"""Sentences every report carries: cautions, how it was judged, what its words mean. Pure."""

from __future__ import annotations

from methods.quantities.digits import percent
from methods.verdicts import Levels as ProbabilityLevels
from methods.wording.cautions import Levels, level_cautions

#: Where a decision is made on the findings. In the order in which they matter to somebody who reads only two.
CAUTIONS: tuple[str, ...] = (
    "A verdict says how a measurement stands to one published value. It does not say that the air is free of risk.",
    "The findings hold for the places, times and conditions that were measured: airing, heating, season and use change "
    "them.",
    "Meters that show their readings at once are for screening, unless the method has been validated for the purpose. "
    "Alcohols, other aldehydes and sudden changes of humidity can pass for formaldehyde.",
    "Formaldehyde irritates and can cause cancer. Where eyes or throat sting: leave, air the rooms and follow the "
    "local rules for emergencies.",
    "Exposure at work is judged from samples worn by the person and under the law that applies, not from this report.",
    "What to do about a finding is decided by licensed or qualified professionals under local rules.",
)

#: After this one the alert levels of the campaign are named, where there are any.
BEFORE_LEVELS = 4


def cautions(levels: Levels) -> tuple[str, ...]:
    """The cautions of one report."""
    return (*CAUTIONS[:BEFORE_LEVELS], *level_cautions(levels), *CAUTIONS[BEFORE_LEVELS:])


UNCERTAINTY: tuple[str, ...] = (
    "Every value is printed with its expanded uncertainty U, the standard uncertainty times the factor of Student's t "
    "for its degrees of freedom (1.96 where it is well known): the true value lies within ± U of the printed one "
    "with a probability of about 95 %.",
    "The standard uncertainty combines, as root of the sum of squares, what is known of the zero, the span, their "
    "drift between checks, the checks themselves, the resolution, the temperature effect, interfering substances, the "
    "noise of the instrument, and the part of the averaging time that was not measured. What really changed while it "
    "was measured is no part of it. Only the last two become smaller with more readings.",
    "The highest of many windows, or of many readings, is expected to lie too high by noise alone. It is printed as it "
    "is, with U widened for that; that much is taken off before it is called above a limit. The lowest likewise.",
    "A part that nobody knows is named as missing. It is not taken as zero, so the real uncertainty is then larger "
    "than the one printed.",
)


def judging(levels: ProbabilityLevels) -> tuple[str, ...]:
    """How verdicts come about, in words."""
    above, below = _percent(levels.above), _percent(levels.below)
    return (
        "Each result is compared in the unit and at the reference conditions of the limit's own document.",
        f"It is called above the limit when the probability that the true value is above it reaches {above}, below the "
        f"limit when that probability is no more than {below}, and undecided in between.",
        "Where the averaging time, the amount of data or the instrument does not suit a limit, the result is shown and "
        "called not comparable.",
        "The result of most concern among the room-air points of a room speaks for the room, and that of the worst "
        "room for the zone. Enclosed spaces, supply air and outdoor air are shown beside it. A building is a count of "
        "verdicts, never their mean, and a zone that was not measured stays not measured.",
    )


#: What the methods rest on. "From memory": the text was not at hand when the method was written.
REFERENCES: tuple[str, ...] = (
    "JCGM 100:2008, Guide to the expression of uncertainty in measurement: combined and expanded uncertainty.",
    "JCGM 106:2012, The role of measurement uncertainty in conformity assessment: probability of being above a limit.",
    "Directive 2008/50/EC, annexes VII and XI: 75 % of the time covered for a mean.",
    "ISO 2533, Standard atmosphere: air pressure at the altitude of the site (constants from memory).",
    "ISO 16000-3: laboratory samples of formaldehyde, where one is advised (from memory).",
    "Settling, warm-up and gap rules, and yearly calibration: common practice, no source.",
)


def meanings(levels: ProbabilityLevels) -> dict[str, str]:
    """The words of the report, each with its meaning in a sentence or two, in the order in which they are told."""
    above, below = _percent(levels.above), _percent(levels.below)
    return {
        "below limit": f"The probability that the true value is above the limit is at most {below}. "
        "It is a statement about one value, one place and one time, not about health.",
        "above limit": f"The probability that the true value is above the limit is at least {above}.",
        "within the range": "The true value lies between both ends of the range, each judged as a limit is.",
        "above the range": f"The probability that the true value is above the upper end is at least {above}.",
        "below the range": f"The probability that the true value is above the lower end is at most {below}.",
        "undecided": "The uncertainty of the measurement reaches across the limit. The report says what would "
        "decide it.",
        "not comparable": "Something was measured, but not in the way this limit asks for: too short, too few "
        "readings, or an unsuitable instrument.",
        "not measured": "Nothing was measured there. Nothing is concluded either.",
        "± (uncertainty)": "The true value lies within this distance of the printed one with a probability of about "
        "95 %.",
        "probability": "How likely it is that the true value is above the limit, given the measured value and its "
        "uncertainty.",
        "fraction of the limit": "The measured value divided by the limit: 0.50 is half the limit, 1 is the limit.",
        "averaging time": "The time over which a limit takes the mean. A short peak may lie above a limit for a whole "
        "day without the day's mean doing so.",
        "detection limit": "The smallest amount the instrument can tell from nothing. “< 0.010” means less than that, "
        "not zero.",
        "ppm and mg/m³": "Two ways to say how much of a gas is in the air: parts in a million of its volume, or "
        "milligrams in a cubic metre. 1000 µg are 1 mg.",
        "zone": "Rooms that share their use and their ventilation. Each zone gets one finding per limit.",
        "limit": "A value published by a body, with the time over which it is averaged. One can be compared only with "
        "what was measured in that way.",
        "reference conditions": "Milligrams per cubic metre depend on how warm and dense the air is counted. Each "
        "limit says, or is taken to mean, a temperature and a pressure.",
        "digest": "A number computed from a text or file that changes when a single character does. It shows that what "
        "you hold is what was signed.",
    }


def _percent(level: float) -> str:
    return percent(level)

"""What the words of a header mean, in several languages. General trade words only; those of substances are rows of the
table of substances (``substance_words``)."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import lru_cache

from methods.logs.text.characters import plain, spelled_out
from methods.logs.words.substance_words import fold, parameter_of, tokens
from methods.logs.words.unit_spellings import only_unit, read_unit, told_by_unit


def word_set(text: str) -> frozenset[str]:
    return frozenset(fold(text).split())


#: Words that make a column something other than the parameter it mentions ("CO2 alarm", "board temp").
_NOT = word_set(
    "dewpoint dew taupunkt td frost wetbulb wet bulb absolute absolut abs specific mixing ratio enthalpy vapour vapor "
    "surface wall globe radiant internal pcb board chip cpu device battery batt akku bat raw baseline base "
    "adc counts status state error errors fault valid quality qualifier flag flags alarm index uncertainty snr "
    "setpoint limit threshold heater twa stel flux slope delta diff difference gradient trend "
    # dew point, absolute humidity, and set points, in words that "temperature" or "humidity" stand beside
    "rosny rosneho rosy росы роси роса оросяване rouă roua harmatpont δρόσου çiy çiğ kastepiste rocío rugiada orvalho "
    "rosée dauwpunt mutlak 이슬점 이슬점온도 노점 절대습도 표면온도 설정온도"
)
#: The same as parts of longer words ("Oberflächentemperatur", "Feuchtkugel").
_NOT_STEMS = (
    "oberflach", "feuchtkugel", "taupunkt", "superfic", "wandtemp", "sollwert", "grenzwert", "batterie", "daggpunkt",
    "duggpunkt", "dugpunkt", "abszol", "absol", "bezwzgl", "абсолют", "απολυτ", "povrch", "powierzch", "felulet",
    "поверхн", "επιφαν", "yuzey", "overflade", "zadan", "заданн", "мокр", "露点", "露點", "湿球", "濕球", "体感",
    "體感", "表面", "设定", "設定", "绝对", "絕對", "絶対"
)  # fmt: skip
#: Beside CO2: it was worked out from something else, not measured.
_COUNTED = word_set("e eq equiv equivalent equivalents equivalente aquivalent estimated calculated")
#: Units of nothing we keep: a name in front of one of them is not overruled ("Humidity (g/m³)", "CO2 (mV)").
_FOREIGN = re.compile(
    r"m?V(?:olt)?|volts?|[mµu]?A|[hk]?Pa|m?bar|mmHg|inHg|psi|g/m\^?[3³]|g[/ ](?:kg|lb).*|gr/lb|kg/kg|lx|lux|klx|dB.*|"
    r"[km]?m/[sh]|ft/min|fpm|l/(?:min|s|h)|ml/min|m[3³]/h|cfm|counts?|cts|adc|digits?|a\.?\s?u\.?|index|[kM]?(?:Ω|ohm)s?|"
    r"W/m\^?[2²]|kJ/kg|min|sec|ms|Hz|rpm|lat|lon|deg\s?[EN]",
    re.I,
)
#: Words that make a column nothing we keep, if it mentions no parameter.
_ASIDE = word_set(
    "voltage volt vcc current pressure druck press baro pressione flow pump signal rssi lux light noise sound db wind "
    "speed direction latitude longitude lat lon altitude gps id no nr number record rec row sample serial sn station "
    "site room location point note notes comment comments remark firmware version mode seq sequence "
    # pressure
    "luftdruck presion pression pressao luchtdruk druk tlak nyomás légnyomás ciśnienie давление тиск налягане presiune "
    "πίεση basınç paine ilmanpaine tryck lufttryck tryk lufttryk trykk lufttrykk 压力 气压 大气压 壓力 氣壓 気圧 "
    "大気圧 圧力 기압 대기압 압력"
)
_SPREAD = word_set("min minimum max maximum std stdev sd sigma stddev count median peak var variance")
_MEAN = word_set("avg average mean mittel mittelwert moyenne media")
#: Words that say, alone in a line of a header, what a logger made of the samples of an interval.
_STATISTICS = (
    _SPREAD
    | _MEAN
    | word_set(
        "smp sample samples inst instantaneous instant last first total tot sum rms momentanwert gemiddelde promedio"
    )
)

#: What a column of room air may be called besides its unit, and a number: "Probe 1 (°C)", "Ch 2 °C".
_ANY_AIR = word_set(
    "air room indoor inside ambient probe sensor channel ch kanal luft raum innen aussen out outdoor outside in "
    "left right links rechts gauche droite izquierda derecha sinistra destra sonde sonda fuhler"
)

_STAMP = word_set(
    "timestamp datetime stamp datumzeit zeitstempel datumuhrzeit horodatage fechahora dataora dateheure datumtijd "
    "epoch unixtime unix posix measuredat recordedat "
    "loggedat datestamp 时间戳 日時 "
    # a moment, a mark of it, and a date with a time that the words below do not make
    "zeitpunkt messzeitpunkt zeitmarke horodate marcadetiempo marcatemporal carimbo carimbodetempo marcaoraria "
    "tijdstip tijdstempel meetmoment tidpunkt mättidpunkt tidsstämpel tidstämpel tidspunkt måletidspunkt tidsstempel "
    "ajankohta aikaleima znacznikczasu datumačas dátumačas datuminčas časovérazítko časováznačka časovápečiatka "
    "časovnižig vremenskaoznaka időpont időbélyeg marcajtemporal zamandamgası χρονοσήμανση меткавремени міткачасу "
    "日期时间 日期和时间 時間戳 時間戳記 日期時間 日付時刻 測定日時 計測日時 記録日時 タイムスタンプ "
    "일시 측정일시 타임스탬프"
)
_DATE = word_set(
    "date datum day tag fecha data jour dato paiva 日期 日付 дата päivämäärä päiväys pvm tarih ημερομηνία 날짜"
)
_TIME = word_set(
    "hhmm hhmmss "
    "time zeit uhrzeit heure hora ora tijd tid klokkeslett hour clock measured logged recorded 时间 時刻 время "
    # Czech "čas" is not among them: without its accent it is the number of a substance (CAS)
    "klokkeslæt klockslag kello klo aika godzina czas vrijeme idő saat ώρα час 测量时间 采样时间 測定時刻 時間 "
    "시간 측정시간"
)
#: How a date and time may be written, in letters.
_LETTERS = word_set("dd mm yy yyyy hh ss ddmmyyyy ddmmyy yyyymmdd tt jj jjjj aaaa gg h m s y d")
#: What else stands in the heading of a date or time without making it that of something else.
_OF_READING = word_set(
    "measurement measuring measured sample sampling log logged logging logger record recorded recording reading "
    "readings data local lokal utc gmt cet cest of the and mess messung messdatum messtag messzeit mesure medicion "
    "muestra misura meting amostra medição medida registro rilevazione pomiaru měření merania mittaus mätning "
    "измерения de del di da do du des der"
)
_PARAMETER_HEAD = word_set(
    "parameter parameters analyte substance pollutant measurand quantity compound gas messgrosse messgroesse parametre "
    "parametro stoff channel kanal canal sensor variable measure type metric series"
)
_UNIT_HEAD = word_set("unit units einheit unite unidad unidade unita eenheid enhet uom 单位 単位")
_VALUE_HEAD = word_set("value reading wert messwert valeur valor valore waarde result concentration conc level")

#: Parts of a date and time that stand in columns of their own, and how one letter or two may name them.
_PART_WORDS = {
    "year": word_set("year jahr annee ano anno jaar ar yyyy yy yr y rok 年"),
    "month": word_set("month monat mois mes mese maand manad maned mon mo mth 月"),
    "day": word_set("day tag jour dia giorno dag dd d dom 日"),
    "day_of_year": word_set("doy yday julian julday jday jultag ddd dayofyear tagdesjahres jourdelannee"),
    "hour": word_set("hour hours stunde stunden std heure heures hora horas ora ore uur timme hh hr hrs h 时"),
    "minute": word_set("minute minutes minuten minuto minutos minuti minuut minut minuter min mi mn 分"),
    "second": word_set("second seconds sekunde sekunden sec sek seconde secondes segundo segundos secondo sekund ss s"),
}
#: Either of them, by what stands before.
_MONTH_OR_MINUTE = word_set("mm m")
_OF_DAY_OF_YEAR = (
    "dayofyear",
    "tagdesjahres",
    "jourdelannee",
    "diadelano",
    "giornodellanno",
    "dagvanhetjaar",
    "dagpaaret",
)
_ELAPSED = word_set(
    "elapsed runtime laufzeit verstrichen verstrichene vergangen vergangene messdauer dauer duration duree ecoule "
    "ecoulee ecoules transcurrido transcurridos trascorso trascorsi decorrido decorridos verstreken forfluten "
    "uptime since seit depuis desde dal"
)
#: The letter of formulas with a unit of time, "t (s)", "t/min" (ISO 80000-3); a capital one is a temperature.
_SYMBOL_OF_TIME = re.compile(r"t ?(?:[(\[] ?(ms|s|min|h|d) ?[)\]]|/ ?(ms|s|min|h|d))")
_COUNT_WORDS = {
    "ms": word_set("ms msec millisecond milliseconds millisekunden millisecondes milisegundos millisecondi"),
    "s": word_set("s sec secs sek second seconds sekunde sekunden seconde secondes segundo segundos secondi seconden"),
    "min": word_set("min mins minute minutes minuten minutos minuti minuter"),
    "h": word_set("h hr hrs std hour hours stunde stunden heures horas ore uren timmar"),
    "d": word_set("d day days tag tage tagen jours dias giorni dagen dagar"),
}


def words_of(text: str) -> list[str]:
    """Folded words of a piece of text."""
    return tokens(text[:LONGEST])


def part_words(name: str) -> tuple[str, ...]:
    """Which parts of a date and time a heading may name: "hour", "month" or "minute"; none, and for most one."""
    words = [word for word in tokens(name[:LONGEST]) if word not in ("of", "the")]
    if "".join(tokens(name[:LONGEST])) in _OF_DAY_OF_YEAR:
        return ("day_of_year",)
    if len(words) == 1 and words[0] in _MONTH_OR_MINUTE:
        return ("month", "minute")
    named = [part for part, known in _PART_WORDS.items() if known & set(words)]
    return tuple(named) if len(named) == 1 and len(words) <= 2 else ()


def is_bare_time(name: str) -> bool:
    """Whether a heading says that it is a date or a time, at most how it is written, and nothing else."""
    words = set(tokens(name[:LONGEST]))
    return bool(words & (_STAMP | _DATE | _TIME)) and words <= _STAMP | _DATE | _TIME | _LETTERS


def is_time_of_reading(name: str) -> bool:
    """Whether a heading says nothing of another date or time than that of the reading; so does none at all."""
    words = {word for word in tokens(name[:LONGEST]) if not word.isdigit()}
    return words <= _STAMP | _DATE | _TIME | _LETTERS | _OF_READING


def elapsed_words(name: str) -> tuple[bool, str]:
    """Whether a heading names time that has gone by, and the unit it counts ("s", "min" …, "" = none named)."""
    if symbol := _SYMBOL_OF_TIME.fullmatch(name.strip()):
        return True, symbol[1] or symbol[2]
    words = tokens(name[:LONGEST])
    units = [unit for unit, known in _COUNT_WORDS.items() if known & set(words)]
    only = all(any(word in known for known in _COUNT_WORDS.values()) for word in words)
    return bool(words) and (bool(_ELAPSED & set(words)) or only), units[-1] if len(units) == 1 else ""


LONGEST = 200
_BRACKETS = re.compile(r"[(\[{]([^()\[\]{}]*)[)\]}]")
#: What the numbers are to be multiplied with: "x1000", "×0.1", "[10^-3]", "/10".
_FACTOR = re.compile(
    r"(?<![^\W_])x\s?(?:10+|0[.,]0*1)\b|[×*]\s?\d|(?<![\w.])10\s?(?:\^|\*\*)\s?[(]?[-+−–]?\d|(?<![\w.])10[-−–]\d(?![.\d])"
    r"|(?<![\w.])10[⁻⁺]?[⁰¹²³⁴⁵⁶⁷⁸⁹]|\b1e[-+−–]?\d|/\s?10+\b",
    re.I,
)
_TAIL_UNIT = re.compile(r"[\s_,;/:|-]+([^\s_,;:|]+(?:/[^\s_,;:|]+)?)$")


@dataclass(frozen=True, slots=True)
class Heading:
    """What one header cell says. ``other`` = it names something that is not a reading of ours; ``unclear`` = it names
    two units, or a factor: which unit the numbers are in cannot be told."""

    parameter: str | None = None
    unit: str | None = None
    other: bool = False
    spread: bool = False
    mean: bool = False
    time_word: str = ""  # "stamp", "date", "time" or ""
    long_word: str = ""  # "parameter", "unit", "value" or ""
    unclear: bool = False


def statistic_of(text: str) -> str:
    """``text`` if it is the name of a statistic and nothing else ("Avg", "Max."); else ""."""
    words = tokens(text[:LONGEST])
    return text.strip() if words and all(word in _STATISTICS for word in words) else ""


def heading(text: str) -> Heading:
    """``text`` as written: "HCHO (ppm)", "Temp [°C]", "co2_ppm", "Raumlufttemperatur"."""
    return _heading(spelled_out(plain(text[:LONGEST])))


@lru_cache(maxsize=4096)
def _heading(text: str) -> Heading:
    bare, bracketed = _BRACKETS.sub(" ", text), [m for m in _BRACKETS.findall(text) if m.strip()]
    if _SYMBOL_OF_TIME.fullmatch(text.strip()):
        return Heading()
    named, extra = parameter_of(bare), ""
    if named is None and bracketed:  # "Carbon dioxide" may stand inside the brackets, too
        named = next((p for p in map(parameter_of, bracketed) if p), None)
    unit = next((u for u in (read_unit(b, named) for b in bracketed) if u), None)
    if unit is None:
        unit, extra = _tail_unit(bare, named)
    unclear = _FACTOR.search(text) is not None or len(_units_in(bare, bracketed, named) | ({unit} - {None})) > 1
    words = set(tokens(bare[: len(bare) - len(extra)] if extra else bare))
    if named is None and unit and (read_unit(bare) or _is_any_air(words)):
        named = told_by_unit(unit)
    known = None if unclear else unit or (only_unit(named) if named and not bracketed else None)
    is_foreign = unit is None and _foreign_unit(bare, bracketed)
    return Heading(
        parameter=named,
        unit=known,
        other=_is_other(words, named) or is_foreign,
        spread=bool(words & _SPREAD),
        mean=bool(words & _MEAN),
        time_word=_time_word(words, bare),
        long_word=_long_word(words),
        unclear=unclear,
    )


def _units_in(bare: str, bracketed: list[str], named: str | None) -> set[str | None]:
    """All units that stand in brackets or as words of their own, of more than a letter."""
    words = [word for word in re.split(r"[\s,;|]+", bare) if len(word.strip("%°")) != 1]
    return {read_unit(text, named) for text in (*bracketed, *words)} - {None}


def _is_any_air(words: set[str]) -> bool:
    """Whether nothing but a place or a number is named, so that the unit tells the parameter."""
    return all(word.isdigit() for word in words - _ANY_AIR - _MEAN - _SPREAD - {"t"})


def _is_other(words: set[str], named: str | None) -> bool:
    if words & _NOT or any(stem in word for word in words for stem in _NOT_STEMS):
        return True
    if named == "co2" and words & _COUNTED:
        return True
    return named is None and bool(words & _ASIDE)


def _foreign_unit(bare: str, bracketed: list[str]) -> bool:
    """In the brackets, or, where there are none, as the last word."""
    if bracketed:
        return any(_FOREIGN.fullmatch(text.strip()) for text in bracketed)
    last = bare.split()[1:][-1:]
    return bool(last) and any(c in last[0] for c in "/³²ΩV") and _FOREIGN.fullmatch(last[0]) is not None


def _tail_unit(text: str, parameter: str | None) -> tuple[str | None, str]:
    """A unit at the end, after a blank, comma, slash or underscore; or the whole text."""
    text = text.strip()
    whole = read_unit(text)
    if whole:
        return whole, ""
    for match in (_TAIL_UNIT.search(text), re.search(r"([%°][^\s]*|/\s*[^\s/]+/[^\s/]+)$", text)):
        if match and (unit := read_unit(match[1].lstrip("/"), parameter)):
            return unit, match[0]
    two = re.search(r"[\s_]((?:mg|mcg|ug|µg|μg|deg|vol)[\s_].{1,8})$", text, re.I)
    if two and (unit := read_unit(two[1].replace("_", " "), parameter)):
        return unit, two[0]
    return None, ""


def _time_word(words: set[str], text: str) -> str:
    joined = "".join(tokens(text))
    if words & _STAMP or joined in _STAMP or (words & _DATE and words & _TIME):
        return "stamp"
    if words & _DATE:
        return "date"
    return "time" if words & _TIME else ""


def _long_word(words: set[str]) -> str:
    for name, heads in (("unit", _UNIT_HEAD), ("parameter", _PARAMETER_HEAD), ("value", _VALUE_HEAD)):
        if words & heads:
            return name
    return ""

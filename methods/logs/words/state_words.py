"""How a column is called, and what stands in it, that says whether its line is any good. Common practice, no source."""

from __future__ import annotations

import re
from itertools import pairwise

from methods.logs.values.cells import BELOW_WORDS, MISSING_WORDS, OVER_WORDS
from methods.logs.words.substance_words import fold, tokens
from methods.logs.words.vocabulary import word_set

#: A column of such a name speaks of its line, whatever its texts are.
STATUS_NAMES = word_set(
    "status state error errors fault valid validity quality flag flags alarm etat estado stato zustand fehler"
)
#: So does one of these, where its texts are few: yes and no, 0 and 1, letters.
STATE_NAMES = STATUS_NAMES | word_set(
    "qualifier qualifiers qual qf qc flagged warning warnings warn failure malfunction invalid overrange underrange "
    "overload overflow saturated saturation detection detected detect lod loq mdl bdl warmup calibration calibrating "
    "maintenance suspect plausible plausibility reliable usable excluded rejected outofrange "
    "storung storungen stoerung warnung gultig gueltig ungultig ungueltig gultigkeit qualitat qualitaet plausibel "
    "messbereich uberlauf ubersteuert aufwarmen aufwarmphase kalibrierung wartung nachweisgrenze ausfall fehlerhaft "
    "erreur erreurs defaut defauts panne valide validite invalide qualite avertissement alerte alarme prechauffage "
    "etalonnage calibrage depassement qualificateur "
    "errores fallo fallos falla averia valido valida validez invalido calidad aviso advertencia alerta alarma "
    "calentamiento calibracion mantenimiento deteccion calificador "
    "errore errori guasto guasti anomalia validita qualita avviso allarme avvertenza calibrazione taratura "
    "manutenzione rilevamento "
    "fout fouten storing geldig ongeldig geldigheid kwaliteit waarschuwing kalibratie ijking onderhoud opwarmen "
    "fel fejl feil giltig ogiltig gyldig ugyldig kvalitet varning advarsel kalibrering underhall vedlikehold tilstand "
    "erro erros falha qualidade calibracao manutencao virhe varoitus kalibrointi blad awaria jakosc ostrzezenie "
    "flg ok durum stav stan tila allapot κατάσταση стан 상태 "
    "ошибка статус состояние качество 状态 状態 质量 品質 错误 エラー"
)
#: A letter that names such a column alone.
_LETTER = "q"


def names_state(name: str) -> bool:
    """Whether a heading says that its column speaks of the line: "Qualifier", "Warm-up", "Below LOD", "Q"."""
    words = [word for token in tokens(name) if (word := token.rstrip("0123456789"))]
    return words[-1:] == [_LETTER] or bool(STATE_NAMES.intersection(words) or STATE_NAMES & _joined(words))


def _joined(words: list[str]) -> set[str]:
    """Words that are written as two or three."""
    return {a + b for a, b in pairwise(words)} | {
        a + b + c for (a, b), c in zip(pairwise(words), words[2:], strict=False)
    }


def state_key(text: str) -> str:
    """How states are compared: "Warm-up", "warm_up" and "WARM UP" are one."""
    return " ".join(re.sub(r"[-_]", " ", fold(text)).split())


def _keys(text: str) -> frozenset[str]:
    return frozenset(state_key(phrase) for phrase in text.split(","))


#: States that need no question, whatever the column is called: "true" is good under "valid" and bad under "error".
GOOD = _keys(
    "ok,good,valid,normal,measuring,running,run,ready,pass,passed,gut,gultig,in ordnung,bon,bien,valide,valido,"
    "valida,v,g,okay,none,no error,no errors,no fault,no alarm,kein fehler,keine fehler,keine,aucune erreur,sin error,"
    "nessun errore,geen fout,geldig,goed,giltig,gyldig,buono"
)
#: Off may be the pump, the light or the alarm, and nothing may be what there is to say.
_DOUBTFUL = frozenset(("off", "stop", "none", "nil", "null", "na", "n/a", "missing"))
BAD = (
    frozenset(state_key(word) for word in MISSING_WORDS if word not in _DOUBTFUL)
    | _keys(
        "sensor error,sensor fault,sensor failure,sensorfehler,fehler,messfehler,storung,gestort,erreur,defaut,"
        "en panne,invalide,ungultig,no valid,non valido,no valido,non valide,not valid,invalido,fallo,falla,errore,"
        "guasto,fout,storing,ongeldig,fel,fejl,feil,ogiltig,ugyldig,erro,falha,virhe,blad,defekt,defect,defective,"
        "defectueux,ausfall,warming,warming up,preheating,aufwarmen,aufwarmphase,prechauffage,chauffage,calentamiento,"
        "opwarmen,low battery,calibration,calibrating,kalibrierung,kalibrieren,etalonnage,calibrage,calibracion,"
        "calibrazione,taratura,kalibratie,kalibrering,maintenance,wartung,mantenimiento,manutenzione,onderhoud,underhall,"
        "ol,suspect,rejected,reject,malfunction,unplausibel,implausible,out of range,no sensor,sensor off,not ready,"
        "unusable,saturated,overrange,underrange,over range,under range,overflow,underflow,overload,uberlauf,"
        "messbereich uberschritten,hors gamme,hors plage,fuera de rango,fuori scala,fuori campo,below detection,"
        "below detection limit,not detected,non detect,unter nachweisgrenze,nicht nachweisbar,< nwg,<nwg,n.n.,"
        "non detecte,no detectado,non rilevato"
    )
    | frozenset(state_key(word) for word in (OVER_WORDS | BELOW_WORDS) - {"over", "under", "lod"})
)
#: What an instrument is given in place of the air of the room: a person says whether such lines count.
STEPS = _keys(
    "flush,flushing,purge,purging,zero,zeroing,zero check,zero air,zero gas,span,span check,span gas,cal,blank,"
    "field blank,spul,spulen,spulung,nullgas,nullluft,prufgas,leerprobe,blindprobe,rincage,gaz zero,gaz etalon,"
    "lavado,barrido,purga,gas cero,lavaggio,spurgo,spoelen,nulgas,spolning,skylning,spyling,huuhtelu"
)
#: In German a room.
_ROOM = "bad"
#: What says so only beside texts that are good, or none: letters that qualify a value, marks, numbers of errors, and
#: words that say where something is elsewhere.
_QUALIFIERS = _keys("u,j,uj,r,nd,over,under,lod,loq,missing,na,n/a,*,**,!,?,#,<,>,<=,>=")
#: Measurement, sample, zero, calibration and blank by their letters: with a zero among them they are no names.
_LETTERS_OF_STEPS, _ZERO = frozenset("mszcb"), "z"
_ERROR_NUMBER = re.compile(r"e(?:rr(?:or)?)?[ .:#]?\d{1,3}")


def is_good(text: str) -> bool:
    return state_key(text) in GOOD


def is_bad(text: str) -> bool:
    """Whether ``text`` says of a line that its value is none, below detection or over range, wherever it stands."""
    return state_key(text) in BAD and not is_good(text)


def is_step(text: str) -> bool:
    """Whether ``text`` says of a line that its value is not of the air of the room."""
    return state_key(text) in STEPS


def qualifies(text: str) -> bool:
    """Whether ``text`` says so where what else there is are good states, or none."""
    key = state_key(text)
    return is_bad(text) or key in STEPS or key in _QUALIFIERS or _ERROR_NUMBER.fullmatch(key) is not None


def speaks_of_states(texts: tuple[str, ...]) -> bool:
    """Whether the texts of a column of any name say which of its lines are bad."""
    if any(is_step(text) or (is_bad(text) and state_key(text) != _ROOM) for text in texts):
        return True
    keys = {state_key(text) for text in texts if text}
    if _ZERO in keys and len(keys) > 1 and keys <= _LETTERS_OF_STEPS:
        return True
    others = [text for text in texts if not qualifies(text)]
    return len(others) < len(texts) and bool(others) and all(not text or is_good(text) for text in others)

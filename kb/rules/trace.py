"""From what a rider says to the parts to look at first.

A person meets it at the counter: "it used to be faster", "it creeps at the lights". The words are held
against the phrases of each symptom in the catalogue, spelling slips and endings forgiven; the causes of the
symptoms that match come in the order of a bench. It matches words, not sense: "does not slip" finds slipping,
so the title of every match is for a person to confirm. It finds no fault; it says where to look.

Source: symptoms and causes are catalogue rows with their own source; the weights of words, of the order of
causes and of gauged parts are judgement of this project.

Example:
    >>> creep = Symptom("creep", "Creeps at idle", ("moves on its own at the light",))
    >>> fade = Symptom("fade", "Top speed fades", ("slower than it used to be",))
    >>> [match.symptom.symptom for match in find_symptoms("slowr than it used to be", [creep, fade])]
    ['fade']
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from math import log

from rapidfuzz import fuzz

from kb.rules.gauge_values import GaugeState
from kb.rules.match.normal import fold_text
from kb.rules.quantity import parse_quantity
from kb.terms import Certainty, Position

TEXT_LIMIT = 500
LEAST_SCORE = 0.5
PROBABLE_SCORE = 0.75
CLEAR_LEAD = 0.1
PHRASE_SHARE = 0.7
FUZZY_RATIO = 80.0
EXACT_UP_TO = 3
ANY_NUMBER = "#"
"""Stands for every number: a rider says 45 where a phrase says 25."""

CAUTIONS = (
    "WARNING: ignition off, plug lead off, machine secured and cold before hands go into the drive.",
    "WARNING: never run the engine with the drive cover off near hands, hair or clothing.",
    "NOTICE: this is where to look first, not a finding; the maker's manual and licensed practice decide.",
)

_FILLER_TEXT = """
    a about again all also am an and are as at be because been bike but by can do does even for from get gets
    go goes got had has have he help her his i if in into is it its just kind like lot machine me moped much
    my of off on only or our out please quite really scooter seems she so some sometimes somehow still than
    that the their them then there they thing this to too up very was we were what when while will with
    would you your
"""
_FILLERS = frozenset(_FILLER_TEXT.split())
_SAME_WORD = {
    "rpm": "rev",
    "revolution": "rev",
    "motor": "engine",
    "lever": "pedal",
    "won": "not",
    "dont": "not",
    "doesnt": "not",
    "wont": "not",
    "cannot": "not",
    "cant": "not",
    "no": "not",
    "never": "not",
    "standstill": "stop",
    "trembl": "judder",
    "shudder": "judder",
    "shak": "judder",
    "vibrat": "judder",
    "clatter": "rattl",
    "knock": "rattl",
}


@dataclass(frozen=True, slots=True)
class Symptom:
    """What a rider notices, with phrases that people use for it."""

    symptom: str
    title: str
    words: tuple[str, ...] = ()
    note: str | None = None
    source: str | None = None


@dataclass(frozen=True, slots=True)
class SymptomCause:
    """One place to look at for a symptom; a position of None is outside the drive."""

    symptom: str
    order: int
    cause: str
    position: Position | None = None
    check: str | None = None
    quantity: str | None = None
    job: str | None = None
    source: str | None = None


@dataclass(frozen=True, slots=True)
class SymptomMatch:
    """A symptom that the words may mean: score 0 to 1, and the phrase that came nearest."""

    symptom: Symptom
    score: float
    certainty: Certainty
    phrase: str


@dataclass(frozen=True, slots=True)
class RankedCause:
    """A place to look at, with every symptom that points there and what has been measured of it."""

    position: Position | None
    cause: str
    check: str | None
    quantity: str | None
    job: str | None
    weight: float
    symptoms: tuple[str, ...]
    state: GaugeState | None
    source: str | None


@dataclass(frozen=True, slots=True)
class TraceAnswer:
    """Symptoms that the words may mean, and where to look, most likely first."""

    text: str
    matches: tuple[SymptomMatch, ...]
    causes: tuple[RankedCause, ...]
    cautions: tuple[str, ...] = CAUTIONS


Gauged = Mapping[tuple[Position, str], GaugeState]

# How a gauged part moves its causes; a part found good is not struck off, it may be bad in another way.
_FACTOR_OF_STATE = {
    GaugeState.REPLACE: 4.0,
    GaugeState.NEAR_LIMIT: 1.5,
    GaugeState.NOT_KNOWN: 1.0,
    GaugeState.GOOD: 0.1,
}


def trace_text(
    text: str, symptoms: Sequence[Symptom], causes: Iterable[SymptomCause], *, gauged: Gauged | None = None
) -> TraceAnswer:
    """Where to look for what a rider says.

    Args:
        text: the rider's words; the first 500 characters are read.
        symptoms: the symptoms of the catalogue.
        causes: their causes.
        gauged: what was measured already, by position and quantity.

    Returns:
        Matching symptoms, best first, and their causes. Both empty when no phrase is met by half.

    Source: as the module.
    """
    matches = find_symptoms(text, symptoms)
    return TraceAnswer(text, matches, rank_causes(matches, causes, gauged=gauged))


def find_symptoms(text: str, symptoms: Sequence[Symptom], *, limit: int = 3) -> tuple[SymptomMatch, ...]:
    """Symptoms that a rider's words may mean, best first.

    Args:
        text: the rider's words, a symptom's code, or its title.
        symptoms: the symptoms of the catalogue.
        limit: how many to name at most.

    Returns:
        Matches of score 0.5 or better. ``sure`` for a code or a title word for word, ``probable`` for
        a good score clear of the next, else ``unsure``.

    Source: as the module.
    """
    folded = fold_text(text[:TEXT_LIMIT]).strip()
    named = [
        symptom for symptom in symptoms if folded in (fold_text(symptom.symptom), fold_text(symptom.title))
    ]
    if named:
        return tuple(SymptomMatch(symptom, 1.0, Certainty.SURE, symptom.title) for symptom in named[:limit])
    scored = _score_all(split_rider_words(folded), symptoms)
    scored.sort(key=lambda match: (-match[0], match[2].symptom))
    return tuple(
        SymptomMatch(symptom, round(score, 4), _certainty(scored, place), phrase)
        for place, (score, phrase, symptom) in enumerate(scored[:limit])
    )


def rank_causes(
    matches: Sequence[SymptomMatch], causes: Iterable[SymptomCause], *, gauged: Gauged | None = None
) -> tuple[RankedCause, ...]:
    """Places to look at for the matched symptoms, most likely first.

    Args:
        matches: from ``find_symptoms``.
        causes: rows of the catalogue; those of other symptoms are left aside.
        gauged: what was measured already, by position and quantity.

    Returns:
        Each place once. Weight: score of the symptom divided by the row's order, summed over symptoms; a part
        measured beyond its limit counts four times, near it one and a half times, a good one a tenth.

    Source: judgement of this project.
    """
    score_of = {match.symptom.symptom: match.score for match in matches}
    rows: dict[tuple[Position | None, str, str | None], list[SymptomCause]] = {}
    for row in causes:
        if row.symptom in score_of:
            rows.setdefault((row.position, row.cause.casefold(), row.quantity), []).append(row)
    ranked = [_rank_rows(group, score_of, gauged=gauged or {}) for group in rows.values()]
    return tuple(sorted(ranked, key=lambda cause: (-cause.weight, cause.position or "", cause.cause)))


@lru_cache(maxsize=4096)
def split_rider_words(text: str) -> tuple[str, ...]:
    """Words of a rider that carry meaning, in one form for each.

    Example:
        >>> split_rider_words("It won't stop slipping, the clutch slips!")
        ('not', 'stop', 'slip', 'clutch', 'slip')
    """
    letters = "".join(sign if sign.isalnum() else " " for sign in fold_text(text).replace("'", ""))
    words = (_stem(word) for word in letters.split() if word not in _FILLERS)
    return tuple(ANY_NUMBER if word.isdigit() else _SAME_WORD.get(word, word) for word in words)


def _stem(word: str) -> str:
    """The word without the ending of number or tense, roughly; a doubled last letter becomes single."""
    for ending in ("ing", "ed", "es", "s", "e"):
        if word.endswith(ending) and len(word) - len(ending) >= 3 and not word.endswith("ss"):
            word = word[: -len(ending)]
            break
    return word[:-1] if len(word) > 3 and word[-1] == word[-2] and word[-1] not in "lse" else word


_Scored = tuple[float, str, Symptom]


def _score_all(words: tuple[str, ...], symptoms: Sequence[Symptom]) -> list[_Scored]:
    if not words:
        return []
    phrases = {
        symptom.symptom: [(phrase, split_rider_words(phrase)) for phrase in (symptom.title, *symptom.words)]
        for symptom in symptoms
    }
    weights = _weigh_words(phrases)
    met = {word: _best_ratio(word, words) for word in weights}
    found: list[_Scored] = []
    for symptom in symptoms:
        score, phrase = max(
            (_score_phrase(parts, words, weights=weights, met=met), phrase)
            for phrase, parts in phrases[symptom.symptom]
        )
        if score >= LEAST_SCORE:
            found.append((score, phrase, symptom))
    return found


def _weigh_words(phrases: Mapping[str, list[tuple[str, tuple[str, ...]]]]) -> dict[str, float]:
    """A word that few symptoms use weighs more."""
    used_by: dict[str, set[str]] = {}
    for code, rows in phrases.items():
        for _, parts in rows:
            for word in parts:
                used_by.setdefault(word, set()).add(code)
    return {word: log(1.0 + len(phrases) / len(codes)) for word, codes in used_by.items()}


def _best_ratio(word: str, words: tuple[str, ...]) -> float:
    """How well a word of a phrase is met by the nearest word said, 0 to 1; short words only exactly."""
    if word in words:
        return 1.0
    if len(word) <= EXACT_UP_TO:
        return 0.0
    best = max(fuzz.ratio(word, said) if len(said) > EXACT_UP_TO else 0.0 for said in words)
    return best / 100.0 if best >= FUZZY_RATIO else 0.0


def _score_phrase(
    parts: tuple[str, ...], words: tuple[str, ...], *, weights: Mapping[str, float], met: Mapping[str, float]
) -> float:
    """Share of the phrase that was said, and, as a smaller part, share of what was said that it explains."""
    total = sum(weights[part] for part in parts)
    if not total:
        return 0.0
    covered = sum(weights[part] * met[part] for part in parts) / total
    explained = sum(
        any(word == part or fuzz.ratio(word, part) >= FUZZY_RATIO for part in parts) for word in words
    )
    return PHRASE_SHARE * covered + (1.0 - PHRASE_SHARE) * covered * min(1.0, explained / len(words))


def _certainty(scored: Sequence[_Scored], place: int) -> Certainty:
    score = scored[place][0]
    runner_up = scored[1][0] if len(scored) > 1 else 0.0
    if place == 0 and score >= PROBABLE_SCORE and score - runner_up >= CLEAR_LEAD:
        return Certainty.PROBABLE
    return Certainty.UNSURE


def _rank_rows(rows: list[SymptomCause], score_of: Mapping[str, float], *, gauged: Gauged) -> RankedCause:
    first = rows[0]
    state = None
    quantity = first.quantity
    if first.position is not None and quantity is not None:
        quantity = parse_quantity(quantity, position=first.position)
        state = gauged.get((first.position, quantity))
    weight = sum(score_of[row.symptom] / max(row.order, 1) for row in rows)
    return RankedCause(
        position=first.position,
        cause=first.cause,
        check=first.check,
        quantity=quantity,
        job=first.job,
        weight=round(weight * _FACTOR_OF_STATE.get(state or GaugeState.NOT_KNOWN, 1.0), 4),
        symptoms=tuple(row.symptom for row in rows),
        state=state,
        source=first.source,
    )

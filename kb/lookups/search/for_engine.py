"""Parts of the kind asked for that are listed as fitting the engine or the vehicle that a question names.

"151QMI drive belt" and "clutch shoes for a Sorrelle 50" name no size and no word of a part's description:
the engine is found by its own entry, and its parts by what is recorded as fitting. A listing is no verdict:
such a part is at most probable, and whether it fits is asked of the fit rules.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from kb.lookups.search.store import Store
from kb.rules.match.analyser import Analyser
from kb.rules.match.look_up import Match
from kb.rules.match.score import find_best_alternative, rank_scored
from kb.rules.match.tokens import Group, GroupKind, Question, Reading
from kb.tables.look_up import get_part_entry_id
from kb.terms import Certainty, Outcome, PartType

MOST_ENGINES = 8
"""A name that more engines share is too vague: a family's name alone lists half the shop."""

_MOST_PARTS = 200
_LISTED = (
    "SELECT f.part_id, g.engine, f.outcome,"
    " (SELECT coalesce(sum(l.on_hand), 0) FROM stock_level l WHERE l.part_id = f.part_id)"
    " FROM fit f JOIN part p ON p.id = f.part_id"
    " JOIN engine g ON g.id = f.engine_id"
    " WHERE {engines} AND p.part_type = {mark} ORDER BY f.part_id, g.engine LIMIT {limit:d}"
)
_FITTING = frozenset(map(str, (Outcome.FITS, Outcome.FITS_WITH_CHANGE)))
_NAMING = frozenset({GroupKind.CODE, GroupKind.NUMBER, GroupKind.WORD, GroupKind.CONCEPT_WORD})
_PART_TYPES = frozenset(map(str, PartType))
_SCORE = 0.8


@dataclass(frozen=True, slots=True)
class ListedForEngine:
    """Parts listed for the engines that a question names, the likeliest first.

    Attributes:
        engines: codes of the engines named.
        matches: the parts listed for them.
        rest: the question without what names the engine, where a number belongs to the name and sizes are
            left: the 50 of "belt for a Plover 50, 669 18 30" is no size of the belt.
    """

    engines: tuple[str, ...]
    matches: tuple[Match, ...]
    rest: Question | None = None


def find_listed(store: Store, analyser: Analyser, question: Question) -> ListedForEngine | None:
    """Parts of the part type asked for that are listed for an engine named; None without engine or type."""
    for reading in question.readings if not question.is_bare_number else ():
        part_type = _find_part_type(reading)
        if part_type is None:
            return None
        engines = _find_named(store, analyser, reading)
        if engines:
            listed = _list_parts(store, reading, engines, part_type)
            return replace(listed, rest=_leave_name_out(question, engines.groups)) if listed else None
    return None


def list_engine_tokens(analyser: Analyser, question: Question) -> tuple[str, ...]:
    """Tokens that may name an engine in a question for a part type; none where no part type is asked for."""
    if question.is_bare_number:
        return ()
    reading = question.readings[0]
    return _list_name_tokens(analyser, _list_naming(reading)) if _find_part_type(reading) else ()


def _list_naming(reading: Reading) -> list[Group]:
    return [group for group in reading.groups if group.kind in _NAMING and group.alternatives]


def _list_name_tokens(analyser: Analyser, naming: Iterable[Group]) -> tuple[str, ...]:
    names = (group for group in naming if _is_name(analyser, group))
    return tuple(dict.fromkeys(token for group in names for token, _ in group.alternatives))


def _find_part_type(reading: Reading) -> str | None:
    for group in reading.groups:
        if group.kind is GroupKind.CONCEPT:
            part_type = group.text.replace(" ", "_")
            return part_type if part_type in _PART_TYPES else None
    return None


@dataclass(frozen=True, slots=True)
class _Named:
    """Engines named equally well: code by id, and the groups of the question that name them."""

    codes: Mapping[int, str]
    groups: tuple[Group, ...]


def _find_named(store: Store, analyser: Analyser, reading: Reading) -> _Named | None:
    naming = _list_naming(reading)
    best: dict[tuple[int, ...], dict[int, str]] = defaultdict(dict)
    for engine_id, code, tokens in store.list_engines_with(_list_name_tokens(analyser, naming)):
        held = frozenset(tokens.split())
        met = tuple(at for at, group in enumerate(naming) if find_best_alternative(group, held))
        best[met][engine_id] = code
    if not best:
        return None
    heaviest = max(sum(naming[at].weight for at in met) for met in best)
    chosen = [met for met in best if sum(naming[at].weight for at in met) == heaviest]
    codes = {engine_id: code for met in chosen for engine_id, code in best[met].items()}
    groups = tuple(naming[at] for at in sorted(set().union(*chosen)))
    return _Named(codes, groups) if len(codes) <= MOST_ENGINES else None


def _leave_name_out(question: Question, name: Sequence[Group]) -> Question | None:
    readings = tuple(
        replace(reading, groups=tuple(group for group in reading.groups if group not in name))
        for reading in question.readings
    )
    has_number = any(group.kind is GroupKind.NUMBER for group in name)
    has_size = any(group.kind is GroupKind.NUMBER for group in readings[0].groups)
    return replace(question, readings=readings) if has_number and has_size else None


def _is_name(analyser: Analyser, group: Group) -> bool:
    """Whether a group may name an engine or a vehicle by itself: a code, or a word that is no trade word."""
    if group.kind is GroupKind.CODE:
        return True
    word = group.alternatives[0][0][1:]
    phrases = analyser.phrases
    return (
        group.kind is GroupKind.WORD and word not in phrases.trade_words and word not in phrases.plain_words
    )


def _list_parts(store: Store, reading: Reading, named: _Named, part_type: str) -> ListedForEngine | None:
    condition, parameters = store.list_in("f.engine_id", list(named.codes))
    statement = _LISTED.format(engines=condition, mark=store.mark, limit=_MOST_PARTS * MOST_ENGINES)
    listed = _read_listed(store.execute(statement, (*parameters, part_type)))
    if not listed:
        return None
    rows = store.get_rows(list(listed)[:_MOST_PARTS])
    rest = tuple(group for group in reading.groups if group not in named.groups)
    # What names the engine is met by the listing; a part that says it as well is not worse for it.
    asked = Question("", "", (), (Reading(rest, reading.factor),))
    ranked = sorted(
        rank_scored(asked, rows), key=lambda one: (-round(one.score, 6), listed[one.candidate.row_id].order)
    )
    matches = [
        Match(
            one.candidate,
            _SCORE * one.score,
            Certainty.PROBABLE if one.is_all_met and not one.other_units else Certainty.UNSURE,
            listed[one.candidate.row_id].why,
            scored=one,
        )
        for one in ranked
    ]
    return ListedForEngine(tuple(sorted(named.codes.values())), tuple(matches))


@dataclass(slots=True)
class _Listed:
    """What is recorded of a part: engines that it fits, those that it fits with a change, pieces on hand."""

    fits: list[str]
    with_change: list[str]
    on_hand: int = 0

    @property
    def order(self) -> tuple[bool, bool]:
        """Parts that fit as they are come first, then those that are on the shelf."""
        return not self.fits, self.on_hand <= 0

    @property
    def why(self) -> str:
        """What is recorded, as a sentence."""
        said = [f"fitting {', '.join(self.fits)}"] if self.fits else []
        said += [f"fitting {', '.join(self.with_change)} with a change"] if self.with_change else []
        return f"Listed as {' and '.join(said)}; ask for its fit before it is sold."


def _read_listed(rows: Iterable[Sequence[Any]]) -> dict[int, _Listed]:
    """Parts by entry; an engine for which something else is recorded as well is left out."""
    outcomes: dict[tuple[int, str], set[str]] = defaultdict(set)
    on_hand: dict[int, int] = {}
    for part_id, engine, outcome, pieces in rows:
        outcomes[part_id, engine].add(outcome)
        on_hand[part_id] = int(pieces)
    listed: dict[int, _Listed] = {}
    for (part_id, engine), said in outcomes.items():
        if said <= _FITTING:
            entry = listed.setdefault(get_part_entry_id(part_id), _Listed([], [], on_hand[part_id]))
            (entry.fits if said == {str(Outcome.FITS)} else entry.with_change).append(engine)
    return listed

"""Parts of the kind asked for that are listed as fitting the engine or the vehicle that a question names.

"151QMI drive belt" and "clutch shoes for a Sorrelle 50" name no size and no word of a part's description:
the engine is found by its own entry, and its parts by what is recorded as fitting. A listing is no verdict:
such a part is at most probable, and whether it fits is asked of the fit rules.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

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
_ENGINES = (
    "SELECT g.id, g.engine, e.tokens FROM engine g JOIN look_up_entry e ON e.id = 2 * g.id + 1 ORDER BY g.id"
)
_LISTED = (
    "SELECT f.part_id, g.engine, f.outcome FROM fit f JOIN part p ON p.id = f.part_id"
    " JOIN engine g ON g.id = f.engine_id"
    " WHERE {engines} AND p.part_type = {mark} ORDER BY f.part_id, g.engine LIMIT {limit:d}"
)
_FITTING = frozenset(map(str, (Outcome.FITS, Outcome.FITS_WITH_CHANGE)))
_NAMING = frozenset({GroupKind.CODE, GroupKind.NUMBER, GroupKind.WORD, GroupKind.CONCEPT_WORD})
_PART_TYPES = frozenset(map(str, PartType))
_SCORE = 0.8


@dataclass(frozen=True, slots=True)
class ListedForEngine:
    """Parts listed for the engines that a question names, the likeliest first."""

    engines: tuple[str, ...]
    matches: tuple[Match, ...]


def find_listed(store: Store, analyser: Analyser, question: Question) -> ListedForEngine | None:
    """Parts of the part type asked for that are listed for an engine named; None without engine or type."""
    for reading in question.readings:
        part_type = _find_part_type(reading)
        if part_type is None:
            return None
        engines = _find_named(store, analyser, reading)
        if engines:
            return _list_parts(store, reading, engines, part_type)
    return None


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
    naming = [group for group in reading.groups if group.kind in _NAMING and group.alternatives]
    if not any(_is_name(analyser, group) for group in naming):
        return None
    best: dict[tuple[int, ...], dict[int, str]] = defaultdict(dict)
    for engine_id, code, tokens in store.execute(_ENGINES, ()):
        held = frozenset(tokens.split())
        met = tuple(at for at, group in enumerate(naming) if find_best_alternative(group, held))
        if any(_is_name(analyser, naming[at]) for at in met):
            best[met][engine_id] = code
    if not best:
        return None
    heaviest = max(sum(naming[at].weight for at in met) for met in best)
    chosen = [met for met in best if sum(naming[at].weight for at in met) == heaviest]
    codes = {engine_id: code for met in chosen for engine_id, code in best[met].items()}
    groups = tuple(naming[at] for at in sorted(set().union(*chosen)))
    return _Named(codes, groups) if len(codes) <= MOST_ENGINES else None


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
    fitting: dict[int, list[str]] = defaultdict(list)
    others: set[tuple[int, str]] = set()
    for part_id, engine, outcome in store.execute(statement, (*parameters, part_type)):
        if outcome not in _FITTING:
            others.add((part_id, engine))
        elif engine not in fitting[part_id]:
            fitting[part_id].append(engine)
    listed = {
        get_part_entry_id(part_id): sure
        for part_id, engines in fitting.items()
        if (sure := [engine for engine in engines if (part_id, engine) not in others])
    }
    if not listed:
        return None
    rows = store.get_rows(list(listed)[:_MOST_PARTS])
    rest = tuple(group for group in reading.groups if group not in named.groups)
    # What names the engine is met by the listing; a part that says it as well is not worse for it.
    asked = Question("", "", (), (Reading(rest, reading.factor),))
    matches = [
        Match(
            one.candidate,
            _SCORE * one.score,
            Certainty.PROBABLE if one.is_all_met and not one.other_units else Certainty.UNSURE,
            _format_why(listed[one.candidate.row_id]),
            scored=one,
        )
        for one in rank_scored(asked, rows)
    ]
    return ListedForEngine(tuple(sorted(named.codes.values())), tuple(matches))


def _format_why(engines: Iterable[str]) -> str:
    return f"Listed as fitting {', '.join(engines)}; ask for its fit before it is sold."

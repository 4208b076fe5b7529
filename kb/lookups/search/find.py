"""Parts and engines that a question describes, how it was understood, and how sure each answer is.

"Sure" says that the row is the one described. Whether it fits an engine is a question of its own.
"""

from collections import Counter
from collections.abc import Sequence
from dataclasses import asdict, dataclass, replace
from itertools import groupby, zip_longest
from typing import Any

from sqlmodel import Session

from kb.errors import BadNotation
from kb.lookups.search.analyser import open_store, read_questions
from kb.lookups.search.for_engine import ListedForEngine, find_listed
from kb.lookups.search.read_as import (
    ReadAs,
    describe_gtin,
    describe_items,
    describe_number,
    describe_question,
)
from kb.lookups.search.rows import ShownRow, read_shown_rows
from kb.lookups.search.store import Store
from kb.notation.gtin import parse_gtin
from kb.notation.read import read_as_json
from kb.rules.match.analyser import Analyser
from kb.rules.match.look_up import LookUp, Match, look_up
from kb.rules.match.near import NearSize
from kb.rules.match.part_number import NumberStep
from kb.rules.match.tokens import GroupKind, Question
from kb.tables.look_up import get_part_entry_id, split_entry_id
from kb.terms import Certainty

MAX_RESULTS = 50
NOTHING_SURE = "Nothing sure."
_NOT_ASKED = "Nothing was asked; write a part number, a size with the kind of part, an engine or a vehicle."
_GTIN_PARTS = "SELECT DISTINCT part_id FROM part_record WHERE gtin = {mark} ORDER BY part_id LIMIT {limit:d}"
_LEAST_GTIN = 8
_TYPED_GTIN = (12, 13, 14)
_LONGEST_GTIN = 200  # what a scanner may send with it
_MARKED = (GroupKind.NUMBER, GroupKind.CODE, GroupKind.MAKER, GroupKind.CONCEPT, GroupKind.WORD)


@dataclass(frozen=True, slots=True)
class Found:
    """A row found: what it shows, how sure it is meant, why, and what of the question it lacks."""

    row: ShownRow
    score: float
    certainty: Certainty
    why: str
    differs: tuple[str, ...] = ()

    def as_json(self) -> dict[str, Any]:
        """The row for JSON."""
        return {
            **asdict(self.row),
            "score": round(self.score, 4),
            "certainty": str(self.certainty),
            "why": self.why,
            "differs": list(self.differs),
        }


@dataclass(frozen=True, slots=True)
class NearRow:
    """A row of nearly the asked size. It is not equal and no answer."""

    row: ShownRow
    differs: tuple[tuple[float, float], ...]
    why: str

    def as_json(self) -> dict[str, Any]:
        """The row for JSON."""
        differs = [{"asked": asked, "has": has} for asked, has in self.differs]
        return {**asdict(self.row), "equal": False, "why": self.why, "differs": differs}


@dataclass(frozen=True, slots=True)
class FindAnswer:
    """Answer to a look-up: rows, best first; apart from them rows of nearly the asked size."""

    query: str
    read_as: ReadAs
    results: tuple[Found, ...]
    near_sizes: tuple[NearRow, ...]
    hint: str = ""

    @property
    def message(self) -> str:
        """How sure the answer is as a whole, in one sentence."""
        sure = sum(found.certainty is Certainty.SURE for found in self.results)
        if sure:
            return "One row is what was asked for." if sure == 1 else f"{sure} rows are what was asked for."
        engines = self.read_as.fields.get("engines")
        if engines:
            return f"{NOTHING_SURE} The first rows are listed for {', '.join(engines)}; ask whether they fit."
        if any(found.certainty is Certainty.PROBABLE for found in self.results):
            return f"{NOTHING_SURE} The first rows are probable; compare them with what is asked."
        if not self.query.strip():
            return _NOT_ASKED
        near = "Sizes near the asked one stand apart; they are not equal." if self.near_sizes else ""
        return " ".join(filter(None, (NOTHING_SURE, self.hint or near)))

    def as_json(self) -> dict[str, Any]:
        """The answer for JSON."""
        return {
            "query": self.query,
            "read_as": self.read_as.as_json(),
            "message": self.message,
            "results": [found.as_json() for found in self.results],
            "near_sizes": [near.as_json() for near in self.near_sizes],
        }


def find_matches(session: Session, text: str, limit: int = 10) -> FindAnswer:
    """Parts, engines and vehicles that a text describes, best first.

    Args:
        session: a reader's session.
        text: anything that a person types, pastes or scans; never an error.
        limit: rows wanted, 1 to 50.
    """
    store = open_store(session)
    limit = min(max(limit, 1), MAX_RESULTS)
    is_gtin = _is_gtin(text)
    scanned = _find_scanned(store, text, limit=limit) if is_gtin else None
    if scanned is not None:
        return scanned
    analyser, asked = read_questions(session, store, text)
    if len(asked) == 1:
        answer = _find_one(store, analyser, (text, asked[0][1]), limit=limit)
        return answer if answer.results else _settle_unknown(answer, is_gtin=is_gtin)
    return _join(text, [_find_one(store, analyser, one, limit=limit) for one in asked], limit=limit)


def find_by_wording(session: Session, text: str, limit: int) -> FindAnswer:
    """Rows that a text about one article describes by itself; what is listed for an engine is left aside."""
    store = open_store(session)
    analyser, (asked,) = read_questions(session, store, text, split=lambda _, whole: (whole,))
    return _find_one(store, analyser, asked, limit=limit, with_listed=False)


def _find_one(
    store: Store, analyser: Analyser, asked: tuple[str, Question], *, limit: int, with_listed: bool = True
) -> FindAnswer:
    """Answer to a question about one article."""
    text, question = asked
    listed = find_listed(store, analyser, question) if with_listed else None
    if listed and listed.rest:
        question = listed.rest
    found = look_up(store, question, limit=limit)
    matches = _place_listed(found.matches, listed, limit=limit) if listed else found.matches
    entry_ids = [match.candidate.row_id for match in matches]
    entry_ids += [near.candidate.row_id for near in found.near_sizes]
    shown = read_shown_rows(store, entry_ids)
    near_sizes = () if listed else _build_near(found.near_sizes, shown)
    read_as = _read_as(found)
    if listed:
        read_as = replace(describe_question(question), kind="text")
        text_read = f"{read_as.text}, for {', '.join(listed.engines)}"
        fields = {**read_as.fields, "engines": list(listed.engines)}
        read_as = replace(read_as, text=text_read, fields=fields)
    return FindAnswer(text, read_as, _build_results(matches, shown), near_sizes)


def _place_listed(matches: Sequence[Match], listed: ListedForEngine, *, limit: int) -> tuple[Match, ...]:
    """Parts that the text surely describes, those listed for the engine, and then what else was found."""

    def is_sure_part(match: Match) -> bool:
        return match.certainty is Certainty.SURE and not split_entry_id(match.candidate.row_id)[0]

    first = [match for match in matches if is_sure_part(match)]
    others = [
        match for match in matches if match.certainty is not Certainty.UNSURE and not _lacks_name(match)
    ]
    ordered = (*first, *listed.matches, *others)
    placed = {match.candidate.row_id: match for match in reversed(ordered)}
    return tuple(placed[row_id] for row_id in dict.fromkeys(one.candidate.row_id for one in ordered))[:limit]


def _lacks_name(match: Match) -> bool:
    """Whether a row lacks a word or a code of the question, which may be the engine's name."""
    missing = match.scored.missing if match.scored else ()
    return any(group.kind in (GroupKind.WORD, GroupKind.CODE) for group in missing)


def _join(text: str, answers: Sequence[FindAnswer], *, limit: int) -> FindAnswer:
    """One answer to several articles asked for at once; their rows take turns."""
    turns = zip_longest(*(answer.results for answer in answers))
    results = [found for turn in turns for found in turn if found is not None]
    near_sizes = [near for answer in answers for near in answer.near_sizes]
    read_as = describe_items([answer.read_as for answer in answers])
    return FindAnswer(text, read_as, tuple(results[:limit]), tuple(near_sizes[:limit]))


def _is_gtin(text: str) -> bool:
    """Whether a text is an article number by its length and check digit."""
    if text[:1].isalpha() or sum(map(str.isdigit, text)) < _LEAST_GTIN:
        return False  # letters stand in the first place of no article number, typed or scanned
    try:
        parse_gtin(text[:_LONGEST_GTIN])
    except BadNotation:
        return False
    return True


def _settle_unknown(answer: FindAnswer, *, is_gtin: bool) -> FindAnswer:
    """An answer without rows that says so of an article number, or that one was mistyped."""
    text = answer.query.strip()
    if is_gtin:
        return replace(answer, read_as=_read_gtin(text), hint="No part carries this article number.")
    if not (text.isdigit() and len(text) in _TYPED_GTIN):
        return answer
    try:
        parse_gtin(text)
    except BadNotation as refusal:
        return replace(answer, hint=str(refusal))
    return answer


def _read_gtin(text: str) -> ReadAs:
    return describe_gtin(read_as_json(text[:_LONGEST_GTIN], "gtin"))


def _find_scanned(store: Store, text: str, *, limit: int) -> FindAnswer | None:
    """Answer to an article number, None when no part carries it: it may be a part number too."""
    gtin = parse_gtin(text[:_LONGEST_GTIN])
    statement = _GTIN_PARTS.format(mark=store.mark, limit=limit)
    entry_ids = [get_part_entry_id(part_id) for (part_id,) in store.execute(statement, (gtin.gtin14,))]
    if not entry_ids:
        return None
    shown = read_shown_rows(store, entry_ids)
    certainty = Certainty.SURE if len(entry_ids) == 1 else Certainty.PROBABLE
    shared = "" if len(entry_ids) == 1 else f" {len(entry_ids)} parts carry it."
    results = tuple(
        Found(shown[entry_id], 1.0, certainty, f"The article number agrees.{shared}")
        for entry_id in entry_ids
    )
    return FindAnswer(text, _read_gtin(text), results, ())


def _read_as(found: LookUp) -> ReadAs:
    first = found.matches[0] if found.matches else None
    if first is not None and first.step is not None:
        is_engine = split_entry_id(first.candidate.row_id)[0]
        return describe_number(found.question, is_engine=is_engine)
    return describe_question(found.question)


def _build_results(matches: Sequence[Match], shown: dict[int, ShownRow]) -> tuple[Found, ...]:
    rows = _put_shelf_first(
        [(match, shown[match.candidate.row_id]) for match in matches if match.candidate.row_id in shown]
    )
    designations = Counter(row.designation for _, row in rows if row.kind == "engine")
    results = []
    for match, row in rows:
        why = match.why if match.step is None else f"{match.why} {_name(row)}"
        one = Found(row, match.score, match.certainty, why, _list_differences(match, row))
        results.append(_settle_engine(one, match, designations) if row.kind == "engine" else one)
    return tuple(results)


def _put_shelf_first(rows: Sequence[tuple[Match, ShownRow]]) -> list[tuple[Match, ShownRow]]:
    """Of parts that are described equally well, those on the shelf first; else the rows in their order."""
    return [
        pair
        for _, equal in groupby(rows, key=_rate)
        for pair in sorted(equal, key=lambda pair: (pair[1].on_hand or 0) <= 0)
    ]


def _rate(pair: tuple[Match, ShownRow]) -> tuple[Any, ...]:
    match, row = pair
    if match.scored is None or row.kind != "part":
        return (match.candidate.row_id,)
    return round(match.score, 6), match.certainty, match.scored.unasked_numbers, match.why


def _settle_engine(found: Found, match: Match, designations: Counter[str | None]) -> Found:
    """An engine that shares its stamp, or lacks a word of the vehicle, is less sure than it looks."""
    if match.step is None:
        is_doubtful = bool(found.differs) and found.certainty is Certainty.PROBABLE
        return replace(found, certainty=Certainty.UNSURE) if is_doubtful else found
    why = found.why.replace("The part number", "The engine's designation", 1)
    sharing = designations[found.row.designation]
    if sharing < 2 or found.certainty is not Certainty.SURE:
        return replace(found, why=why)
    why = f"{why} {sharing} engines carry this stamp; measure to tell them apart."
    return replace(found, certainty=Certainty.PROBABLE, why=why)


def _get_number(row: ShownRow) -> str | None:
    return row.part_number or row.designation or row.engine


def _name(row: ShownRow) -> str:
    of_maker = f" of {row.maker}" if row.maker else ""
    return f"It is '{_get_number(row)}'{of_maker}."


def _list_differences(match: Match, row: ShownRow) -> tuple[str, ...]:
    """What the question says and the row does not, in the question's words."""
    if match.scored is None:
        return () if match.step is NumberStep.EXACT else (f"part number '{_get_number(row)}'",)
    missing = [group.text for group in match.scored.missing if group.kind in _MARKED]
    missing += [f"kind of part {group.text}" for group in match.scored.other_kinds]
    missing += match.scored.contradictions
    return (*missing, *(f"unit of {group.text}" for group in match.scored.other_units))


def _build_near(near_sizes: Sequence[NearSize], shown: dict[int, ShownRow]) -> tuple[NearRow, ...]:
    return tuple(
        NearRow(shown[near.candidate.row_id], near.differs, near.why)
        for near in near_sizes
        if near.candidate.row_id in shown
    )

"""Does this part fit this engine? One engine, one thing asked about, at one or all possible positions."""

from dataclasses import dataclass, replace
from typing import Any

from sqlalchemy import select
from sqlmodel import Session

from kb.lookups.alternatives import list_alternatives_to
from kb.lookups.asked import Meaning, find_meaning
from kb.lookups.engines import EngineRef, get_engine
from kb.lookups.parts import StoredPart, find_parts_by_id
from kb.lookups.places import get_place, get_position
from kb.lookups.replacements import find_successors
from kb.lookups.sources import read_sourced_rows
from kb.notation.reading import show_text
from kb.rules.fit.measuring import build_measurement
from kb.rules.fit.reasons import ReasonCode
from kb.rules.fit.sentence import say_part
from kb.rules.fit.settings import FitLimits
from kb.rules.fit.shape import shape_asked, shape_part
from kb.rules.fit.values import Asked, FitRecord, PartSize, Reason, Verdict
from kb.rules.fit.verdict import GENERAL_CAUTION, PlaceJudge
from kb.rules.word_list import format_word_list
from kb.tables.columns import get_table
from kb.terms import POSITIONS_OF_PART_TYPE, Certainty, Outcome, PartStatus, Position

# With several possible positions the answer is the one where the part does best.
_BEST_FIRST = (Outcome.FITS, Outcome.FITS_WITH_CHANGE, Outcome.NOT_KNOWN, Outcome.DOES_NOT_FIT)
_SUREST_FIRST = (Certainty.SURE, Certainty.PROBABLE, Certainty.UNSURE)
SHOWN_ALTERNATIVES = 10
DEFAULT_LIMITS = FitLimits()


@dataclass(frozen=True, slots=True)
class FitQuestion:
    """A fit question as a person puts it."""

    engine: str
    asked: str
    position: str | None = None
    limits: FitLimits = DEFAULT_LIMITS


def does_part_fit(session: Session, question: FitQuestion) -> Verdict:
    """The verdict with alternatives.

    Without a position the part is judged where its fit records for this engine place it, else at every
    position that its type can take; the best outcome is given, and the answer lists all of them in
    ``positions``.

    A size that can be read in several ways is judged in each: the answer is "not known" and lists them in
    ``readings``, unless it fits in none. A part number of several makers is "not known" and lists them in
    ``candidates``. A superseded part is judged like any other; ``replaced_by`` names what follows it.

    Raises:
        NotFound: engine, position, maker or part number is unknown.
        BadNotation: what was asked about cannot be read.
        BadInput: nothing was asked about, or something that is no part of the drive.
    """
    engine = get_engine(session, question.engine)
    position = get_position(question.position) if question.position else None
    meaning = find_meaning(session, question.asked, position)
    judge = _Judge(session, engine, question.limits)
    if len(meaning.parts) > 1 and _count_makers(meaning) > 1:
        verdict = _answer_several_makers(engine, position, question.asked, parts=meaning.parts)
    elif len(meaning.parts) > 1:
        verdict = _answer_several_numbers(engine, position, question.asked, parts=meaning.parts)
    elif meaning.parts:
        verdict = judge.judge_part(meaning.parts[0], position, text=question.asked)
    else:
        verdict = judge.judge_sizes(meaning.sizes, meaning.positions)
    return judge.add_alternatives(verdict, meaning.parts)


def _count_makers(meaning: Meaning) -> int:
    return len({part.ref.maker for part in meaning.parts})


class _Judge:
    """Judges parts and sizes for one engine."""

    def __init__(self, session: Session, engine: EngineRef, limits: FitLimits) -> None:
        self.session = session
        self.engine = engine
        self.limits = limits
        self._judges: dict[Position, PlaceJudge] = {}

    def judge_part(self, part: StoredPart, position: Position | None, *, text: str) -> Verdict:
        asked = Asked(size=part.size, part=part.ref, text=text, rival_sizes=part.rival_sizes)
        records = list_records(self.session, part.id, self.engine.id)
        positions = (position,) if position else _list_positions(part, [place for place, _ in records])
        verdicts = [
            self._get_judge(place).judge(asked, [record for at, record in records if at is place])
            for place in positions
        ]
        verdict = _pick(verdicts, asked, self.engine.engine)
        if position is None and records and positions != _list_positions(part, []):
            words = ", ".join(_say(place) for place in positions)
            caution = f"No position was given; a fit record places this part at: {words}."
            verdict = replace(verdict, cautions=(caution, *verdict.cautions))
        return self._add_successors(verdict, part)

    def judge_sizes(self, sizes: tuple[Asked, ...], positions: tuple[Position, ...]) -> Verdict:
        by_reading = []
        for asked in sizes:
            verdicts = [self._get_judge(place).judge(asked, ()) for place in positions]
            by_reading.append(_pick(verdicts, asked, self.engine.engine))
        return by_reading[0] if len(by_reading) == 1 else _join_readings(by_reading)

    def _get_judge(self, position: Position) -> PlaceJudge:
        if position not in self._judges:
            place = get_place(self.session, self.engine, position)
            self._judges[position] = PlaceJudge(place, self.limits)
        return self._judges[position]

    def _add_successors(self, verdict: Verdict, part: StoredPart) -> Verdict:
        successors = find_successors(self.session, part.id)
        if successors is None:
            return _say_status(replace(verdict, extra={**verdict.extra, "replaced_by": None}), part)
        found = find_parts_by_id(self.session, {successors.next_id, successors.last_id})
        following, last = found[successors.next_id].ref, found[successors.last_id].ref
        text = f"{say_part(part.ref)} is superseded by {say_part(following)}"
        if successors.last_id != successors.next_id:
            text += f"; the last of the chain is {say_part(last)}"
        shaped = {"next": shape_part(following), "last": shape_part(last), "text": f"{text}."}
        return replace(
            verdict, cautions=(f"{text}.", *verdict.cautions), extra={**verdict.extra, "replaced_by": shaped}
        )

    def add_alternatives(self, verdict: Verdict, parts: tuple[StoredPart, ...]) -> Verdict:
        if verdict.position is None:
            return verdict
        found = list_alternatives_to(
            self.session, self.engine, self._get_judge(verdict.position), without=[part.id for part in parts]
        )
        return replace(verdict, alternatives=tuple(found[:SHOWN_ALTERNATIVES]))


def _list_positions(part: StoredPart, recorded: list[Position]) -> tuple[Position, ...]:
    """Positions to judge where none was given: those of the fit records, else all of the part type."""
    if recorded:
        return tuple(dict.fromkeys(recorded))
    return POSITIONS_OF_PART_TYPE[part.ref.part_type] if part.ref.part_type else ()


def _say_status(verdict: Verdict, part: StoredPart) -> Verdict:
    """A caution for a part that is no longer made and has no recorded successor."""
    if part.ref.status not in (PartStatus.SUPERSEDED, PartStatus.DISCONTINUED):
        return verdict
    text = f"{say_part(part.ref)} is {part.ref.status}; no part that replaces it is recorded."
    return replace(verdict, cautions=(text, *verdict.cautions))


def list_records(session: Session, part_id: int, engine_id: int) -> list[tuple[Position, FitRecord]]:
    """Fit records of a part on an engine with their positions, the best source first."""
    fit = get_table("fit")
    statement = select(fit).where(fit.c.part_id == part_id, fit.c.engine_id == engine_id)
    return [
        (Position(row.position), FitRecord(Outcome(row.outcome), source, row.note, row.seen_on))
        for row, source in read_sourced_rows(session, statement)
    ]


def _pick(verdicts: list[Verdict], asked: Asked, engine: str) -> Verdict:
    """The verdict at the position where the part does best, the surer first; all tried are named."""
    if not verdicts:
        return _answer_no_position(asked, engine)
    if len(verdicts) == 1:
        return verdicts[0]
    best = min(
        verdicts,
        key=lambda verdict: (
            _BEST_FIRST.index(verdict.outcome),
            _SUREST_FIRST.index(verdict.certainty),
            verdict.need is None,  # a place of which something is recorded says more
        ),
    )
    tried = [
        {"position": str(item.position), "outcome": str(item.outcome), "certainty": str(item.certainty)}
        for item in verdicts
    ]
    words = ", ".join(f"{_say(item['position'])}: {_say(item['outcome'])}" for item in tried)
    caution = f"No position was given. Possible positions: {words}."
    return replace(best, cautions=(caution, *best.cautions), extra={**best.extra, "positions": tried})


def _say(word: str) -> str:
    return word.replace("_", " ")


def _answer_no_position(asked: Asked, engine: str) -> Verdict:
    part_type = asked.part.part_type if asked.part else None
    what = _say(part_type) if part_type else "part"
    text = f"A {what} has no position of its own in the drive; name the position to ask about."
    reason = Reason(ReasonCode.PART_NO_RULE, Outcome.NOT_KNOWN, text)
    return _answer_not_known(engine, None, asked, reason=reason, measure="position")


def _answer_several_makers(
    engine: EngineRef, position: Position | None, text: str, *, parts: tuple[StoredPart, ...]
) -> Verdict:
    makers = ", ".join(dict.fromkeys(part.ref.maker for part in parts))
    said = f"Part number '{text}' is used by several makers: {makers}; say which one is meant."
    asked = Asked(size=PartSize(), text=text, part_number=text)
    reason = Reason(ReasonCode.PART_MAKER, Outcome.NOT_KNOWN, said, value=makers)
    return _with_candidates(_answer_not_known(engine.engine, position, asked, reason=reason), parts)


def _answer_several_numbers(
    engine: EngineRef, position: Position | None, text: str, *, parts: tuple[StoredPart, ...]
) -> Verdict:
    numbers = ", ".join(part.ref.part_number for part in parts)
    said = f"'{text}' may be any of the part numbers {numbers}; write it exactly as printed."
    asked = Asked(size=PartSize(), text=text, part_number=text)
    reason = Reason(ReasonCode.PART_MAKER, Outcome.NOT_KNOWN, said, value=numbers)
    return _with_candidates(_answer_not_known(engine.engine, position, asked, reason=reason), parts)


def _with_candidates(verdict: Verdict, parts: tuple[StoredPart, ...]) -> Verdict:
    return replace(verdict, extra={**verdict.extra, "candidates": [shape_part(part.ref) for part in parts]})


def _answer_not_known(
    engine: str, position: Position | None, asked: Asked, *, reason: Reason, measure: str = "part_number"
) -> Verdict:
    return Verdict(
        outcome=Outcome.NOT_KNOWN,
        certainty=Certainty.UNSURE,
        engine=engine,
        position=position,
        asked=asked,
        reasons=(reason,),
        measure_next=(build_measurement(measure),),
        cautions=(*asked.cautions, GENERAL_CAUTION),
    )


def _join_readings(verdicts: list[Verdict]) -> Verdict:
    """One answer for a size that can be read in several ways: none is chosen, unless all do not fit."""
    readings: list[dict[str, Any]] = []
    for verdict in verdicts:
        size = shape_asked(verdict.asked, verdict.position)["size"]
        readings.append({"size": size, "outcome": str(verdict.outcome), "certainty": str(verdict.certainty)})
    first = max(verdicts, key=lambda verdict: _SUREST_FIRST.index(verdict.certainty))
    if all(verdict.outcome is Outcome.DOES_NOT_FIT for verdict in verdicts):
        caution = "The size can be read in several ways; none of them fits."
        return replace(
            first, cautions=(caution, *first.cautions), extra={**first.extra, "readings": readings}
        )
    words = "; ".join(f"{_describe_size(item['size'])}: {_say(item['outcome'])}" for item in readings)
    quantities = _list_differing(readings)
    names = format_word_list([name.rsplit("_", 1)[0].replace("_", " ") for name in quantities])
    text = (
        f"'{show_text(first.asked.text)}' can be read in several ways ({words}); none is chosen. "
        f"Say which number is which: {names}."
    )
    return replace(
        first,
        outcome=Outcome.NOT_KNOWN,
        certainty=Certainty.UNSURE,
        reasons=(Reason(ReasonCode.PART_READING, Outcome.NOT_KNOWN, text),),
        consequences=(),
        evidence=(),
        conflict=False,
        measure_next=tuple(build_measurement(name) for name in quantities),
        extra={**first.extra, "readings": readings},
    )


def _list_differing(readings: list[dict[str, Any]]) -> list[str]:
    """Names of the numbers in which readings of one text differ."""
    sizes = [item["size"] for item in readings]
    return [name for name in sizes[0] if any(size.get(name) != sizes[0][name] for size in sizes)]


def _describe_size(size: dict[str, Any]) -> str:
    said = [
        f"{name.rsplit('_', 1)[0].replace('_', ' ')} {value:g}"
        for name, value in size.items()
        if isinstance(value, float | int)
    ]
    return " ".join(said)

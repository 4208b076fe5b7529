"""Does this part fit this engine? One engine, one thing asked about, at one or all possible positions."""

from dataclasses import dataclass, replace
from typing import Any

from sqlalchemy import select
from sqlmodel import Session

from kb.lookups.alternatives import list_alternatives_for
from kb.lookups.asked import Meaning, find_meaning
from kb.lookups.engines import EngineRef, get_engine
from kb.lookups.parts import StoredPart, find_parts_by_id
from kb.lookups.places import get_place, get_position
from kb.lookups.replacements import find_successors
from kb.lookups.sources import read_sourced_rows
from kb.rules.fit.measuring import build_measurement
from kb.rules.fit.reasons import ReasonCode
from kb.rules.fit.settings import FitLimits
from kb.rules.fit.shape import shape_asked, shape_part
from kb.rules.fit.values import Asked, FitRecord, PartSize, Reason, Verdict
from kb.rules.fit.verdict import GENERAL_CAUTION, EngineAtPosition, build_verdict
from kb.tables.columns import get_table
from kb.terms import POSITIONS_OF_PART_TYPE, Certainty, Outcome, Position

# With several possible positions the answer is the one where the part does best.
_BEST_FIRST = (Outcome.FITS, Outcome.FITS_WITH_CHANGE, Outcome.NOT_KNOWN, Outcome.DOES_NOT_FIT)
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

    Raises:
        NotFound: engine, position, maker or part number is unknown.
        BadNotation: what was asked about cannot be read.
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

    def judge_part(self, part: StoredPart, position: Position | None, *, text: str) -> Verdict:
        asked = Asked(size=part.size, part=part.ref, text=text)
        records = list_records(self.session, part.id, self.engine.id)
        if position is not None:
            positions: tuple[Position, ...] = (position,)
        elif records:
            positions = tuple(dict.fromkeys(place for place, _ in records))
        else:
            positions = POSITIONS_OF_PART_TYPE[part.ref.part_type] if part.ref.part_type else ()
        verdicts = [
            build_verdict(
                self._get_place(place),
                asked,
                [record for at, record in records if at is place],
                limits=self.limits,
                rival_sizes=part.rival_sizes,
            )
            for place in positions
        ]
        verdict = _pick(verdicts, asked, self.engine.engine)
        return self._add_successors(verdict, part)

    def judge_sizes(self, sizes: tuple[Asked, ...], positions: tuple[Position, ...]) -> Verdict:
        by_reading = []
        for asked in sizes:
            verdicts = [
                build_verdict(self._get_place(place), asked, (), limits=self.limits) for place in positions
            ]
            by_reading.append(_pick(verdicts, asked, self.engine.engine))
        return by_reading[0] if len(by_reading) == 1 else _join_readings(by_reading)

    def _get_place(self, position: Position) -> EngineAtPosition:
        return get_place(self.session, self.engine, position)

    def _add_successors(self, verdict: Verdict, part: StoredPart) -> Verdict:
        successors = find_successors(self.session, part.id)
        if successors is None:
            return replace(verdict, extra={**verdict.extra, "replaced_by": None})
        found = find_parts_by_id(self.session, {successors.next_id, successors.last_id})
        following, last = found[successors.next_id].ref, found[successors.last_id].ref
        text = f"{part.ref.maker} {part.ref.part_number} is superseded by {following.maker} {following.part_number}"
        if successors.last_id != successors.next_id:
            text += f"; the last of the chain is {last.maker} {last.part_number}"
        shaped = {"next": shape_part(following), "last": shape_part(last), "text": f"{text}."}
        return replace(
            verdict, cautions=(f"{text}.", *verdict.cautions), extra={**verdict.extra, "replaced_by": shaped}
        )

    def add_alternatives(self, verdict: Verdict, parts: tuple[StoredPart, ...]) -> Verdict:
        if verdict.position is None:
            return verdict
        place = self._get_place(verdict.position)
        found = list_alternatives_for(
            self.session,
            self.engine,
            place,
            limits=self.limits,
            without=frozenset(part.id for part in parts),
        )
        return replace(verdict, alternatives=tuple(found[:SHOWN_ALTERNATIVES]))


def list_records(session: Session, part_id: int, engine_id: int) -> list[tuple[Position, FitRecord]]:
    """Fit records of a part on an engine with their positions, the best source first."""
    fit = get_table("fit")
    statement = select(fit).where(fit.c.part_id == part_id, fit.c.engine_id == engine_id)
    return [
        (Position(row.position), FitRecord(Outcome(row.outcome), source, row.note, row.seen_on))
        for row, source in read_sourced_rows(session, statement)
    ]


def _pick(verdicts: list[Verdict], asked: Asked, engine: str) -> Verdict:
    """The verdict at the position where the part does best; the answer names all positions tried."""
    if not verdicts:
        return _answer_no_position(asked, engine)
    if len(verdicts) == 1:
        return verdicts[0]
    best = min(verdicts, key=lambda verdict: _BEST_FIRST.index(verdict.outcome))
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
    return _answer_not_known(
        engine, None, asked, reason=Reason(ReasonCode.PART_NO_RULE, Outcome.NOT_KNOWN, text)
    )


def _answer_several_makers(
    engine: EngineRef, position: Position | None, text: str, *, parts: tuple[StoredPart, ...]
) -> Verdict:
    makers = ", ".join(dict.fromkeys(part.ref.maker for part in parts))
    said = f"Part number '{text}' is used by several makers: {makers}; say which one is meant."
    asked = Asked(size=PartSize(), text=text)
    reason = Reason(ReasonCode.PART_MAKER, Outcome.NOT_KNOWN, said, value=makers)
    return _with_candidates(_answer_not_known(engine.engine, position, asked, reason=reason), parts)


def _answer_several_numbers(
    engine: EngineRef, position: Position | None, text: str, *, parts: tuple[StoredPart, ...]
) -> Verdict:
    numbers = ", ".join(part.ref.part_number for part in parts)
    said = f"'{text}' may be any of the part numbers {numbers}; write it exactly as printed."
    asked = Asked(size=PartSize(), text=text)
    reason = Reason(ReasonCode.PART_MAKER, Outcome.NOT_KNOWN, said, value=numbers)
    return _with_candidates(_answer_not_known(engine.engine, position, asked, reason=reason), parts)


def _with_candidates(verdict: Verdict, parts: tuple[StoredPart, ...]) -> Verdict:
    return replace(verdict, extra={**verdict.extra, "candidates": [shape_part(part.ref) for part in parts]})


def _answer_not_known(engine: str, position: Position | None, asked: Asked, *, reason: Reason) -> Verdict:
    return Verdict(
        outcome=Outcome.NOT_KNOWN,
        certainty=Certainty.UNSURE,
        engine=engine,
        position=position,
        asked=asked,
        reasons=(reason,),
        measure_next=(build_measurement("part_number"),),
        cautions=(*asked.cautions, GENERAL_CAUTION),
    )


def _join_readings(verdicts: list[Verdict]) -> Verdict:
    """One answer for a size that can be read in several ways: none is chosen, unless all do not fit."""
    readings: list[dict[str, Any]] = []
    for verdict in verdicts:
        size = shape_asked(verdict.asked, verdict.position)["size"]
        readings.append({"size": size, "outcome": str(verdict.outcome), "certainty": str(verdict.certainty)})
    first = verdicts[0]
    if all(verdict.outcome is Outcome.DOES_NOT_FIT for verdict in verdicts):
        caution = "The size can be read in several ways; none of them fits."
        return replace(
            first, cautions=(caution, *first.cautions), extra={**first.extra, "readings": readings}
        )
    words = "; ".join(f"{_describe_size(item['size'])}: {_say(item['outcome'])}" for item in readings)
    text = f"'{first.asked.text}' can be read in several ways: {words}. Say which number is the width."
    return replace(
        first,
        outcome=Outcome.NOT_KNOWN,
        certainty=Certainty.UNSURE,
        reasons=(Reason(ReasonCode.PART_READING, Outcome.NOT_KNOWN, text),),
        consequences=(),
        evidence=(),
        measure_next=(build_measurement("top_width_mm"), build_measurement("angle_deg")),
        extra={**first.extra, "readings": readings},
    )


def _describe_size(size: dict[str, Any]) -> str:
    names = {"length_mm": "length", "top_width_mm": "width", "angle_deg": "angle", "thickness_mm": "height"}
    said = [f"{names[name]} {value:g}" for name, value in size.items() if name in names and value is not None]
    return " ".join(said)

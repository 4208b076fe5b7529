"""From what a rider says to likely causes, with the limits, parts and tools of the engine at hand."""

from dataclasses import dataclass

from sqlalchemy import select
from sqlmodel import Session

from kb.errors import BadInput
from kb.lookups.card import list_job_tools
from kb.lookups.engines import EngineRef, get_engine
from kb.lookups.gauge import PartLimit, list_part_limits
from kb.lookups.ready_parts import find_ready_part
from kb.lookups.sources import find_sources
from kb.rules.card.values import CardPart, CardTool
from kb.rules.quantity import parse_quantity
from kb.rules.tools.cautions import Caution, cautions_for_job, cautions_for_position, rank_cautions
from kb.rules.trace import Gauged, RankedCause, Symptom, SymptomCause, TraceAnswer, trace_text
from kb.tables.columns import get_table
from kb.terms import Position

SHOWN_CAUSES = 8


@dataclass(frozen=True, slots=True)
class TracedCause:
    """A place to look at, with what it would need on this engine; without an engine only the cause."""

    cause: RankedCause
    limits: tuple[PartLimit, ...] = ()
    part: CardPart | None = None
    tools: tuple[CardTool, ...] = ()
    cautions: tuple[Caution, ...] = ()


@dataclass(frozen=True, slots=True)
class TraceResult:
    """Symptoms that the words may mean, and the causes in the order in which to look."""

    engine: str | None
    answer: TraceAnswer
    causes: tuple[TracedCause, ...]
    more_count: int
    known_symptoms: tuple[str, ...]


def trace_symptom(
    session: Session, text: str, *, engine_code: str | None = None, gauged: Gauged | None = None
) -> TraceResult:
    """Where to look for what a rider says.

    Args:
        text: the rider's words.
        engine_code: the engine, when known; then limits, parts and tools of it stand beside each cause.
        gauged: what was measured already.

    Raises:
        BadInput: nothing was said.
        NotFound: the engine is unknown.
    """
    if not text.strip():
        raise BadInput("Nothing was said; write what the rider notices, in his own words.", field="text")
    engine = get_engine(session, engine_code) if engine_code else None
    symptoms = list_symptoms(session)
    answer = trace_text(text, symptoms, _list_causes(session), gauged=gauged)
    shown = answer.causes[:SHOWN_CAUSES]
    return TraceResult(
        engine=engine.engine if engine else None,
        answer=answer,
        causes=tuple(_complete(session, cause, engine) for cause in shown),
        more_count=len(answer.causes) - len(shown),
        known_symptoms=tuple(item.title for item in symptoms) if not answer.matches else (),
    )


def list_symptoms(session: Session) -> tuple[Symptom, ...]:
    """Symptoms of the catalogue with the phrases that people use for them."""
    table = get_table("symptom")
    rows = session.execute(select(table).order_by(table.c.symptom)).all()
    sources = find_sources(session, (row.source_id for row in rows))
    return tuple(
        Symptom(
            symptom=row.symptom,
            title=row.title,
            words=tuple(word for part in (row.words or "").split(";") if (word := part.strip())),
            note=row.note,
            source=sources[row.source_id].source,
        )
        for row in rows
    )


def _list_causes(session: Session) -> list[SymptomCause]:
    cause, symptom, job = (get_table(name) for name in ("symptom_cause", "symptom", "job"))
    rows = session.execute(
        select(cause, symptom.c.symptom.label("symptom_name"), job.c.job.label("job_name"))
        .select_from(cause.join(symptom).outerjoin(job))
        .order_by(symptom.c.symptom, cause.c.order)
    ).all()
    sources = find_sources(session, (row.source_id for row in rows))
    return [
        SymptomCause(
            symptom=row.symptom_name,
            order=row.order,
            cause=row.cause,
            position=Position(row.position) if row.position else None,
            check=row.check,
            quantity=row.quantity,
            job=row.job_name,
            source=sources[row.source_id].source,
        )
        for row in rows
    ]


def _complete(session: Session, cause: RankedCause, engine: EngineRef | None) -> TracedCause:
    position = cause.position
    cautions = cautions_for_position(position) if position else ()
    ranked = rank_cautions((*cautions_for_job(), *cautions))
    if engine is None:
        return TracedCause(cause, cautions=ranked)
    return TracedCause(
        cause=cause,
        limits=_find_limits(session, engine, cause),
        part=find_ready_part(session, engine, position) if position else None,
        tools=list_job_tools(session, engine, cause.job) if cause.job else (),
        cautions=ranked,
    )


def _find_limits(session: Session, engine: EngineRef, cause: RankedCause) -> tuple[PartLimit, ...]:
    if cause.position is None or cause.quantity is None:
        return ()
    quantity = parse_quantity(cause.quantity, position=cause.position)
    known = list_part_limits(session, engine.id, cause.position)
    return tuple(item for item in known if item.quantity == quantity)

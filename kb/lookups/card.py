"""The bench card of one engine and one job: what is recorded, put together by the rules of the card."""

from collections.abc import Sequence

from sqlalchemy import and_, func, select
from sqlmodel import Session

from kb.lookups.engines import EngineRef, get_engine
from kb.lookups.gauge import list_part_limits
from kb.lookups.jobs import get_job, list_shop_tools, list_steps
from kb.lookups.ready_parts import find_ready_part
from kb.lookups.shelf import find_on_hand
from kb.lookups.sources import read_sourced_rows
from kb.rules.card.fasteners import build_fasteners, list_fastener_positions
from kb.rules.card.missing import (
    list_disagreements,
    list_missing_facts,
    list_missing_parts,
    list_missing_tools,
    list_torque_warnings,
)
from kb.rules.card.steps import build_steps
from kb.rules.card.tools import list_card_tools
from kb.rules.card.values import (
    Card,
    CardArticle,
    CardConsumable,
    CardFastener,
    CardLimit,
    CardPart,
    CardTool,
    JobStep,
    StatedFastener,
)
from kb.rules.fit.values import PartRef
from kb.rules.tools.lubrication import ThreadCondition
from kb.rules.tools.torque_band import TorqueBand
from kb.tables.columns import get_table
from kb.terms import FastenerDrive, Hand, PartType, Position

LOCKING_COMPOUND = "thread-locking compound"
SHOWN_ARTICLES = 3


def build_card(session: Session, engine_code: str, job_name: str) -> Card:
    """The bench card.

    Raises:
        NotFound: engine or job is unknown.
    """
    engine = get_engine(session, engine_code)
    job = get_job(session, job_name)
    steps = list_steps(session, job.id)
    positions = list_fastener_positions(steps)
    owned = list_shop_tools(session)
    fasteners = build_fasteners(list_stated_fasteners(session, engine.id), positions, tools=owned)
    tools = list_card_tools(fasteners, steps, owned)
    parts = _list_parts(session, engine, steps, fasteners)
    limits = _list_limits(session, engine.id, steps)
    missing = (
        *list_missing_facts(fasteners, positions, limits),
        *list_missing_tools(tools),
        *list_missing_parts(parts),
    )
    return Card(
        engine=engine.engine,
        engine_name=engine.name,
        job=job.job,
        title=job.title,
        note=job.note,
        fasteners=fasteners,
        tools=tools,
        parts=parts,
        consumables=_list_consumables(session, steps, fasteners),
        limits=limits,
        steps=build_steps(steps, fasteners),
        missing=missing,
        disagreements=tuple(list_disagreements(fasteners)),
        warnings=tuple(list_torque_warnings(fasteners)),
    )


def list_stated_fasteners(session: Session, engine_id: int) -> tuple[StatedFastener, ...]:
    """Fasteners of an engine as every source states them, the best source first."""
    table = get_table("fastener")
    statement = select(table).where(table.c.engine_id == engine_id)
    return tuple(
        StatedFastener(
            position=Position(row.position),
            source=source,
            thread=row.thread,
            hand=Hand(row.hand) if row.hand else None,
            drive=FastenerDrive(row.drive) if row.drive else None,
            across_flats_mm=row.across_flats_mm,
            count=row.count,
            torque=TorqueBand(row.torque_min_nm, row.torque_nm, row.torque_max_nm),
            locking=row.locking,
            single_use=row.single_use,
            holding=row.holding,
        )
        for row, source in read_sourced_rows(session, statement)
    )


def list_job_tools(session: Session, engine: EngineRef, job_name: str) -> tuple[CardTool, ...]:
    """Tools that a job needs on an engine, against the shop's own."""
    steps = list_steps(session, get_job(session, job_name).id)
    owned = list_shop_tools(session)
    stated = list_stated_fasteners(session, engine.id)
    fasteners = build_fasteners(stated, list_fastener_positions(steps), tools=owned)
    return list_card_tools(fasteners, steps, owned)


def _list_parts(
    session: Session, engine: EngineRef, steps: Sequence[JobStep], fasteners: Sequence[CardFastener]
) -> tuple[CardPart, ...]:
    """Parts that steps ask for, and a new fastener for each that is made for one use."""
    wanted: dict[Position, int | None] = {
        step.position: None for step in steps if step.needs_part and step.position is not None
    }
    for item in fasteners:
        if item.stated.single_use:
            wanted[item.stated.position] = item.stated.count
    return tuple(
        find_ready_part(session, engine, position, count=count) for position, count in wanted.items()
    )


def _list_limits(session: Session, engine_id: int, steps: Sequence[JobStep]) -> tuple[CardLimit, ...]:
    positions = dict.fromkeys(step.position for step in steps if step.position is not None)
    return tuple(
        CardLimit(item.position, item.quantity, item.limit)
        for position in positions
        for item in list_part_limits(session, engine_id, position)
        if item.is_wear
    )


def _list_consumables(
    session: Session, steps: Sequence[JobStep], fasteners: Sequence[CardFastener]
) -> tuple[CardConsumable, ...]:
    used: dict[str, list[int]] = {}
    for step in steps:
        if step.consumable:
            used.setdefault(step.consumable, []).append(step.step)
    asks_for_compound = any(item.condition is ThreadCondition.LOCKING_COMPOUND for item in fasteners)
    if asks_for_compound and not any("thread lock" in name.casefold() for name in used):
        used[LOCKING_COMPOUND] = []
    return tuple(
        CardConsumable(name, tuple(numbers), _find_articles(session, name)) for name, numbers in used.items()
    )


def _find_articles(session: Session, name: str) -> tuple[CardArticle, ...]:
    """Articles of the catalogue whose description holds every word of a consumable's name."""
    part, maker, record = (get_table(table) for table in ("part", "maker", "part_record"))
    words = name.casefold().replace("-", " ").split()[:5]
    holds = and_(*(func.lower(record.c.description).contains(word, autoescape=True) for word in words))
    rows = session.execute(
        select(part.c.id, maker.c.maker, part.c.part_number, func.min(record.c.description).label("text"))
        .select_from(part.join(maker).join(record))
        .where(part.c.part_type == str(PartType.CONSUMABLE), holds)
        .group_by(part.c.id, maker.c.maker, part.c.part_number)
        .order_by(part.c.id)
        .limit(SHOWN_ARTICLES)
    ).all()
    stock = find_on_hand(session, [row.id for row in rows])
    return tuple(
        CardArticle(
            part=PartRef(row.maker, row.part_number, PartType.CONSUMABLE, row.text),
            places=tuple(stock.get(row.id, ())),
        )
        for row in rows
    )

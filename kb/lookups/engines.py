"""Engines by code; an unknown code is answered with the nearest ones."""

from dataclasses import dataclass

from sqlalchemy import ColumnElement, Row, Select, Table, func, or_, select
from sqlmodel import Session

from kb.errors import NotFound
from kb.lookups.typed_text import is_storable
from kb.notation.reading import show_text
from kb.rules.nearest import find_nearest, format_nearest
from kb.tables.columns import get_table


@dataclass(frozen=True, slots=True)
class EngineRef:
    """An engine as answers name it."""

    id: int
    engine: str
    family: str | None
    name: str | None
    designation: str | None
    strokes: int | None
    cooling: str | None
    bore_mm: float | None
    stroke_mm: float | None
    note: str | None


def get_engine(session: Session, code: str) -> EngineRef:
    """The engine with this code.

    Raises:
        NotFound: no engine has it; the message names the nearest codes.
    """
    wanted = code.strip().lower()
    row = None
    if is_storable(wanted):
        row = session.execute(_select_engines().where(_engine().c.engine == wanted)).first()
    if row is not None:
        return _build_ref(row)
    codes = session.execute(select(_engine().c.engine)).scalars().all()
    nearest = find_nearest(code, codes, limit=3)
    raise NotFound(
        f"Engine '{show_text(code)}' is not in the catalogue; {format_nearest(code, codes)}.", nearest=nearest
    )


def list_engines(
    session: Session, *, text: str = "", after: str = "", limit: int = 50
) -> tuple[list[EngineRef], bool]:
    """Engines in order of their code, and whether there are more.

    Args:
        text: letters that code, name, family, designation or a vehicle's make and model must hold.
        after: code after which to go on.
        limit: most engines to give, 1 to 200.
    """
    engine = _engine()
    statement = _select_engines().where(engine.c.engine > after).order_by(engine.c.engine).limit(limit + 1)
    for word in text.split()[:6]:
        if not is_storable(word):
            return [], False
        statement = statement.where(_hold_word(word))
    rows = [_build_ref(row) for row in session.execute(statement)]
    return rows[:limit], len(rows) > limit


def _hold_word(word: str) -> ColumnElement[bool]:
    engine, family, vehicle = (get_table(name) for name in ("engine", "family", "vehicle"))
    escaped = word.lower().replace("\\", "\\\\").replace("%", "\\%").replace("_", "\\_")
    pattern = f"%{escaped}%"

    def holds(column: ColumnElement[str]) -> ColumnElement[bool]:
        return func.lower(column).like(pattern, escape="\\")

    by_vehicle = select(vehicle.c.engine_id).where(or_(holds(vehicle.c.make), holds(vehicle.c.model)))
    return or_(
        holds(engine.c.engine),
        holds(engine.c.name),
        holds(engine.c.designation),
        holds(family.c.family),
        engine.c.id.in_(by_vehicle),
    )


def _engine() -> Table:
    return get_table("engine")


def _select_engines() -> Select[tuple[object, ...]]:
    engine, family = get_table("engine"), get_table("family")
    return select(
        engine.c.id,
        engine.c.engine,
        family.c.family,
        engine.c.name,
        engine.c.designation,
        engine.c.strokes,
        engine.c.cooling,
        engine.c.bore_mm,
        engine.c.stroke_mm,
        engine.c.note,
    ).select_from(engine.outerjoin(family))


def _build_ref(row: Row[tuple[object, ...]]) -> EngineRef:
    return EngineRef(**row._mapping)

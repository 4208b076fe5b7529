"""What is shown of the rows that a look-up found: description, part type, pieces on hand."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from kb.lookups.search.store import Store
from kb.rules.source import get_rank
from kb.tables.look_up import get_engine_entry_id, get_part_entry_id, split_entry_id
from kb.terms import SourceKind

_ENGINES = (
    "SELECT g.id, g.engine, g.designation, g.name, v.make, v.model"
    " FROM engine g LEFT JOIN vehicle v ON v.engine_id = g.id WHERE {condition} ORDER BY g.id, v.id"
)


@dataclass(frozen=True, slots=True)
class ShownRow:
    """A part, or an engine with its vehicles, as a list shows it."""

    kind: str
    maker: str | None = None
    part_number: str | None = None
    part_type: str | None = None
    description: str | None = None
    engine: str | None = None
    designation: str | None = None
    on_hand: int | None = None


def read_shown_rows(store: Store, entry_ids: Iterable[int]) -> dict[int, ShownRow]:
    """What is shown, by id of the entry."""
    part_ids: list[int] = []
    engine_ids: list[int] = []
    for entry_id in entry_ids:
        is_engine, row_id = split_entry_id(entry_id)
        (engine_ids if is_engine else part_ids).append(row_id)
    shown = {get_part_entry_id(part_id): row for part_id, row in _read_parts(store, part_ids).items()}
    engines = _read_engines(store, engine_ids)
    return shown | {get_engine_entry_id(engine_id): row for engine_id, row in engines.items()}


def _read_parts(store: Store, part_ids: Sequence[int]) -> dict[int, ShownRow]:
    found: dict[int, tuple[int, ShownRow]] = {}
    for row in store.list_shown_parts(part_ids):
        part_id, maker, part_number, part_type, description, source_kind, on_hand = row
        rank = get_rank(SourceKind(source_kind)) if source_kind and description else 99
        if part_id not in found or rank < found[part_id][0]:
            shown = ShownRow("part", maker, part_number, part_type, description, on_hand=int(on_hand or 0))
            found[part_id] = (rank, shown)
    return {part_id: shown for part_id, (_, shown) in found.items()}


def _read_engines(store: Store, engine_ids: Sequence[int]) -> dict[int, ShownRow]:
    if not engine_ids:
        return {}
    texts: dict[int, list[str]] = {}
    codes: dict[int, tuple[str, str | None]] = {}
    condition, parameters = store.list_in("g.id", engine_ids)
    for engine_id, code, designation, name, make, model in store.execute(
        _ENGINES.format(condition=condition), parameters
    ):
        codes[engine_id] = (code, designation)
        said = texts.setdefault(engine_id, [name] if name else [])
        if make:
            said.append(f"{make} {model}")
    return {
        engine_id: ShownRow(
            "engine",
            description="; ".join(dict.fromkeys(texts[engine_id])) or None,
            engine=code,
            designation=designation,
        )
        for engine_id, (code, designation) in codes.items()
    }

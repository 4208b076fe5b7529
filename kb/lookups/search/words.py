"""Words that stand for part types: the program's, those of loaded catalogues, the shop's own."""

from collections import defaultdict
from dataclasses import dataclass

from sqlalchemy import select
from sqlmodel import Session

from kb.standards.trade_words import list_trade_words
from kb.tables.columns import get_table
from kb.terms import PartType


@dataclass(frozen=True, slots=True)
class WordsOfType:
    """Words of one part type by where they come from."""

    part_type: str
    own: tuple[str, ...]
    from_catalogue: tuple[str, ...]
    built_in: tuple[str, ...]


def list_words(session: Session) -> list[WordsOfType]:
    """Words of every part type, in the order of the list of part types."""
    table = get_table("trade_name")
    own: dict[str, list[str]] = defaultdict(list)
    loaded: dict[str, list[str]] = defaultdict(list)
    statement = select(table.c.part_type, table.c.name, table.c.batch_id).order_by(table.c.name)
    for part_type, name, batch_id in session.execute(statement):
        (own if batch_id is None else loaded)[part_type].append(name)
    built_in: dict[str, list[str]] = defaultdict(list)
    for part_type, name in list_trade_words():
        built_in[part_type].append(name)
    return [
        WordsOfType(str(kind), tuple(own[kind]), tuple(loaded[kind]), tuple(built_in[kind]))
        for kind in PartType
    ]

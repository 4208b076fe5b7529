"""The shop's own words for part types: added and removed by hand, understood at once.

Rows that hold a word whose meaning changed are keyed again in the same transaction.
"""

from sqlalchemy import delete, insert, select
from sqlmodel import Session

from kb.edits.look_up_names import rekey_entries
from kb.entries import build_analyser
from kb.errors import BadInput, Conflict, NotFound
from kb.rules.match.phrases import split_words
from kb.rules.nearest import format_nearest
from kb.tables.columns import get_table
from kb.terms import PartType

LONGEST_WORD = 60


def add_word(session: Session, part_type: str, word: str) -> int:
    """Let a word stand for a part type; returns how many rows were keyed again.

    Raises:
        BadInput: the part type is not known, or the word is empty, too long or without a letter.
        Conflict: the word stands for the part type already.
    """
    word = _check_word(part_type, word)
    table = get_table("trade_name")
    connection = session.connection()
    same = (table.c.part_type == part_type) & (table.c.name == word)
    if connection.execute(select(table.c.id).where(same)).first() is not None:
        raise Conflict(f"'{word}' stands for {part_type.replace('_', ' ')} already.")
    before = build_analyser(connection)
    connection.execute(insert(table).values(part_type=part_type, name=word, batch_id=None))
    return rekey_entries(connection, before, build_analyser(connection))


def remove_word(session: Session, part_type: str, word: str) -> int:
    """Take a word of the shop back; returns how many rows were keyed again.

    Raises:
        NotFound: the shop has no such word; words of a catalogue go with their import.
    """
    table = get_table("trade_name")
    connection = session.connection()
    own = table.c.batch_id.is_(None)
    before = build_analyser(connection)
    gone = connection.execute(delete(table).where(own, table.c.part_type == part_type, table.c.name == word))
    if not gone.rowcount:
        words = connection.execute(select(table.c.name).where(own)).scalars().all()
        raise NotFound(f"'{word[:60]}' is no word of the shop; {format_nearest(word, words)}.")
    return rekey_entries(connection, before, build_analyser(connection))


def _check_word(part_type: str, word: str) -> str:
    if part_type not in set(PartType):
        raise BadInput(
            f"Part type '{part_type[:60]}' is not known; {format_nearest(part_type, list(PartType))}.",
            field="part_type",
        )
    word = " ".join(word.split())
    if len(word) > LONGEST_WORD:
        raise BadInput(
            f"Word '{word[:20]}...' has {len(word)} characters; write at most {LONGEST_WORD}.", field="word"
        )
    if not any(map(str.isalpha, "".join(split_words(word)))):
        raise BadInput(f"Word '{word}' holds no letter; write a word that people say.", field="word")
    return word

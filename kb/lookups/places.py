"""Positions by name, and what is recorded of an engine at one."""

from sqlmodel import Session

from kb.errors import NotFound
from kb.lookups.engines import EngineRef
from kb.lookups.needs import find_drive, list_needs
from kb.notation.reading import show_text
from kb.rules.fit.verdict import EngineAtPosition
from kb.rules.nearest import find_nearest, format_nearest
from kb.terms import Position


def get_position(word: str) -> Position:
    """The position with this name.

    Raises:
        NotFound: there is none; the message names the nearest.
    """
    key = word.strip().lower().replace(" ", "_").replace("-", "_")
    try:
        return Position(key)
    except ValueError as error:
        names = [str(position) for position in Position]
        raise NotFound(
            f"Position '{show_text(word)}' is unknown; {format_nearest(key, names)}.",
            nearest=find_nearest(key, names),
        ) from error


def get_place(session: Session, engine: EngineRef, position: Position) -> EngineAtPosition:
    """What is recorded of an engine at a position."""
    drive = find_drive(session, engine.id) if position is Position.DRIVE_BELT else None
    return EngineAtPosition(engine.engine, position, list_needs(session, engine.id, position), drive)

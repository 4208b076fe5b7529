"""Sheet of sources."""

from importers.columns import Column, Name, build_word
from importers.sheets.sheet import WORDS, Sheet
from kb.edits.target import Target
from kb.terms import SourceKind

SOURCES = Sheet(
    kind="sources",
    columns=(
        Column("source", Name(), required=True),
        Column("kind", build_word(SourceKind, but=[SourceKind.NOT_STATED]), required=True),
        Column("title", WORDS),
        Column("edition", WORDS),
        Column("locator", WORDS),
    ),
    target=Target(
        table="source",
        identity=("source",),
        probe="source",
        values=("kind", "title", "edition", "locator"),
    ),
)

"""What the columns of a supplier's file mean: kept as a small TOML file and used again for the next one.

::

    kind = "offers"
    [form]
    delimiter = ";"
    decimal = ","
    [columns]                  # heading = column; an empty column is left out
    "Art.-Nr." = "part_number"
    "Preis EUR" = "price"
    [values]                   # the same in every row
    supplier = "alder"
"""

import json
import tomllib
from collections.abc import Mapping as AnyMapping
from dataclasses import asdict, dataclass, field, fields
from typing import Any

from importers.sheets.catalogue import SHEETS
from importers.sheets.sheet import Sheet
from importers.table_form import DATE_ORDERS, DELIMITERS, TableForm
from kb.edits.listed_parts import LEAVE_OUT, SAME_AS
from kb.errors import BadInput
from kb.rules.nearest import find_nearest, format_nearest
from kb.terms import SourceKind

LARGEST_BYTES = 200_000
DUPLICATES = ("ask", "same", "new")
UNKNOWN = ("ask", "leave out")


@dataclass(frozen=True, slots=True, kw_only=True)
class Mapping:
    """What the columns of a file mean.

    Args:
        kind: kind of sheet.
        columns: column by heading; an empty column is left out. None goes by the trade's words.
        headings: the whole heading line, so that a changed one is noticed.
        units: unit by heading, where it is not the column's own.
        values: what holds for every row, by column.
        form: how the file is written.
        source_kind: kind of a source named in ``values`` that is not stored yet.
        duplicates: a part that differs from a stored one by marks only: ``ask``, ``same``, ``new``.
        decisions: the same for single part numbers; also ``leave out``, and ``same as NUMBER`` of the maker.
        unknown: what is done with headings that are not known: asked for, or left out.
        read_sizes: read sizes out of descriptions.
    """

    kind: str
    columns: dict[str, str] | None = None
    headings: tuple[str, ...] = ()
    units: dict[str, str] = field(default_factory=dict)
    values: dict[str, str] = field(default_factory=dict)
    form: TableForm = field(default_factory=TableForm)
    source_kind: str = str(SourceKind.SUPPLIER)
    duplicates: str = "ask"
    decisions: dict[str, str] = field(default_factory=dict)
    unknown: str = "ask"
    read_sizes: bool = True

    @property
    def sheet(self) -> Sheet:
        """The kind of sheet that the file is."""
        return get_sheet(self.kind)

    def as_json(self) -> str:
        """The mapping as it is kept with the batch."""
        return json.dumps(asdict(self), ensure_ascii=False)

    def merge(self, said: AnyMapping[str, Any]) -> "Mapping":
        """The mapping with further plain values; tables are joined, words replaced.

        Raises:
            BadInput: a value is not accepted.
        """
        own = {name: value for name, value in asdict(self).items() if value is not None}
        own["form"] = {name: value for name, value in own["form"].items() if value is not None}
        for name, value in said.items():
            own[name] = {**own.get(name, {}), **value} if isinstance(value, dict) else value
        return build_mapping(own)


def get_kinds() -> tuple[str, ...]:
    """Names of all kinds of sheets."""
    return tuple(sheet.kind for sheet in SHEETS)


def get_sheet(kind: str) -> Sheet:
    """The kind of sheet of this name.

    Raises:
        BadInput: there is none.
    """
    kinds = {sheet.kind: sheet for sheet in SHEETS}
    if kind not in kinds:
        raise BadInput(
            f"Kind '{kind[:60]}' is not known; write one of {', '.join(kinds)}{_name_nearest(kind)}.",
            field="kind",
        )
    return kinds[kind]


def _name_nearest(kind: str) -> str:
    nearest = find_nearest(kind, get_kinds(), limit=1)
    return f"; the nearest is '{nearest[0]}'" if nearest else ""


def parse_mapping(text: str, *, kind: str | None = None) -> Mapping:
    """A mapping written as TOML or JSON.

    Args:
        text: the mapping.
        kind: kind of sheet where the mapping names none.

    Raises:
        BadInput: it cannot be read or names something unknown.
    """
    if len(text) > LARGEST_BYTES:
        raise BadInput(f"The mapping has more than {LARGEST_BYTES} characters; shorten it.", field="mapping")
    try:
        said = json.loads(text) if text.lstrip().startswith("{") else tomllib.loads(text)
    except (ValueError, RecursionError) as error:
        raise BadInput(
            f"The mapping cannot be read: {str(error)[:120]}; write TOML.", field="mapping"
        ) from error
    if not isinstance(said, dict):
        raise BadInput("The mapping must be a table of names and values.", field="mapping")
    return build_mapping(({"kind": kind} if kind else {}) | said)


def build_mapping(said: AnyMapping[str, Any]) -> Mapping:
    """A mapping from plain values, checked."""
    known = {item.name for item in fields(Mapping)}
    for name in said:
        if name not in known:
            raise BadInput(
                f"'{name[:60]}' in the mapping is not known; {format_nearest(name, known)}.", field=name
            )
    if not isinstance(said.get("kind"), str):
        raise BadInput('The mapping names no kind of sheet; write kind = "parts" for example.', field="kind")
    form = _build_form(said.get("form", {}))
    values = {name: value for name, value in said.items() if name not in ("form", "headings")}
    for name in ("columns", "units", "values", "decisions"):
        _check_texts(name, values.get(name))
    mapping = Mapping(**values, form=form, headings=_build_headings(said.get("headings", ())))
    _check_words(mapping)
    _check_columns(mapping)
    return mapping


def _build_headings(said: Any) -> tuple[str, ...]:
    if not isinstance(said, list | tuple) or not all(isinstance(text, str) for text in said):
        raise BadInput("'headings' in the mapping must be a list of texts.", field="headings")
    return tuple(said)


def _check_texts(name: str, said: Any) -> None:
    if said is None:
        return
    if not isinstance(said, dict) or not all(isinstance(text, str) for text in said.values()):
        raise BadInput(f"[{name}] in the mapping must give a text in quotes for each name.", field=name)


def _build_form(said: Any) -> TableForm:
    known = {item.name for item in fields(TableForm)}
    _check_texts("form", said)
    for name in said:
        if name not in known:
            raise BadInput(
                f"'{name[:60]}' in [form] is not known; {format_nearest(name, known)}.", field=name
            )
    delimiter = said.get("delimiter")
    delimiter = DELIMITERS.get(delimiter, delimiter)
    form = TableForm(**{**said, "delimiter": delimiter})
    if delimiter is not None and delimiter not in DELIMITERS.values():
        raise BadInput(
            f"Delimiter '{delimiter[:20]}' is not known; write one of {', '.join(DELIMITERS)}.",
            field="delimiter",
        )
    if form.decimal not in (None, ".", ","):
        raise BadInput(
            f"Decimal sign '{form.decimal[:20]}' is not known; write . or a comma.", field="decimal"
        )
    if form.dates not in (None, *DATE_ORDERS):
        raise BadInput(
            f"Order '{form.dates[:40]}' of dates is not known; write one of {', '.join(DATE_ORDERS)}.",
            field="dates",
        )
    if form.encoding is not None:
        return TableForm(**{**asdict(form), "encoding": _check_encoding(form.encoding)})
    return form


def _check_encoding(name: str) -> str:
    names = {
        "utf8": "utf-8-sig",
        "utf8sig": "utf-8-sig",
        "cp1252": "cp1252",
        "windows1252": "cp1252",
        "latin1": "latin-1",
    }
    names |= {"iso88591": "latin-1", "utf16": "utf-16", "utf16le": "utf-16-le", "utf16be": "utf-16-be"}
    found = names.get("".join(c for c in name.casefold() if c.isalnum()))
    if found is None:
        raise BadInput(
            f"Encoding '{name[:40]}' is not read here; write utf-8, cp1252, latin-1 or utf-16.",
            field="encoding",
        )
    return found


def _check_words(mapping: Mapping) -> None:
    words = (
        ("duplicates", mapping.duplicates, DUPLICATES),
        ("unknown", mapping.unknown, UNKNOWN),
        (
            "source_kind",
            mapping.source_kind,
            tuple(str(kind) for kind in SourceKind if kind != SourceKind.NOT_STATED),
        ),
    )
    for name, word, accepted in words:
        if word not in accepted:
            raise BadInput(
                f"'{str(word)[:40]}' is not accepted for {name}; write one of {', '.join(accepted)}.",
                field=name,
            )
    for word in mapping.decisions.values():
        if not is_decision(word):
            raise BadInput(
                f"'{word[:40]}' is not accepted for decisions; write one of {', '.join(DUPLICATES[1:])}, "
                f"{LEAVE_OUT}, {SAME_AS}NUMBER.",
                field="decisions",
            )
    if not isinstance(mapping.read_sizes, bool):
        raise BadInput("read_sizes in the mapping must be true or false.", field="read_sizes")


def is_decision(word: str) -> bool:
    """Whether a word decides about one part number.

    Example:
        >>> is_decision("same as LP-1"), is_decision("perhaps")
        (True, False)
    """
    return word in (*DUPLICATES[1:], LEAVE_OUT) or (word.startswith(SAME_AS) and word != SAME_AS)


def _check_columns(mapping: Mapping) -> None:
    known = {column.name for column in mapping.sheet.columns}
    for name in [*(mapping.columns or {}).values(), *mapping.values]:
        if name and name not in known:
            raise BadInput(
                f"Column '{name[:60]}' in the mapping is not one of {mapping.kind}; "
                f"{format_nearest(name, known)}.",
                field="mapping",
            )
    doubled = [name for name in known if list((mapping.columns or {}).values()).count(name) > 1]
    if doubled:
        raise BadInput(
            f"Column '{doubled[0]}' is given to two headings in the mapping; keep one.", field="mapping"
        )


def format_mapping(mapping: Mapping) -> str:
    """The mapping as TOML; ``parse_mapping`` gives it back. Headings to be decided stand as comments.

    Example:
        >>> parse_mapping(format_mapping(Mapping(kind="parts", columns={'a "b"': "maker"}))).columns
        {'a "b"': 'maker'}
    """
    plain = ("kind", "source_kind", "duplicates", "unknown", "read_sizes")
    lines = [f"{name} = {_quote(getattr(mapping, name))}" for name in plain]
    if mapping.headings:
        lines.append(f"headings = [{', '.join(_quote(text) for text in mapping.headings)}]")
    form = {name: value for name, value in asdict(mapping.form).items() if value is not None}
    tables = {"form": form, "columns": mapping.columns or {}, "units": mapping.units}
    for name, table in (tables | {"values": mapping.values, "decisions": mapping.decisions}).items():
        if table:
            lines += ["", f"[{name}]", *(f"{_quote(key)} = {_quote(value)}" for key, value in table.items())]
    undecided = [text for text in mapping.headings if text not in (mapping.columns or {})]
    lines += ["", "# To be decided; write these under [columns]:"] if undecided else []
    lines += [f'# {_quote(text)} = "..."' for text in undecided]
    return "\n".join(lines) + "\n"


def _quote(value: object) -> str:
    # Strings of JSON are basic strings of TOML, but for the delete character.
    return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")

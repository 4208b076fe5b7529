"""Parts sheets: the part itself is made when first met; what a source says of it is the row compared."""

from sqlalchemy import Table

from kb.edits.catalogue import SheetEdit
from kb.edits.problem import Problem
from kb.edits.target import InputRow, Values
from kb.tables.columns import get_table


def prepare_parts(sheet: SheetEdit, rows: list[InputRow]) -> list[InputRow]:
    """Rows with their part's id; parts that are not stored are made, another part type is refused."""
    index = sheet.edit.parts
    index.read(row.values["part_number"] for row in rows)
    types: dict[tuple[int, str], tuple[str, str]] = {}
    missing: list[Values] = []
    kept = []
    for row in rows:
        maker_id, number, part_type = (row.values[name] for name in ("maker_id", "part_number", "part_type"))
        if (maker_id, number) not in types:
            stored = index.find_exact(maker_id, number)
            types[maker_id, number] = (
                (stored.part_type, "is stored") if stored else (part_type, f"stands in line {row.line}")
            )
            if stored is None:
                missing.append(
                    {
                        "maker_id": maker_id,
                        "part_number": number,
                        "part_number_key": index.get_key(number),
                        "part_type": part_type,
                    }
                )
        known_type, where = types[maker_id, number]
        if known_type == part_type:
            kept.append(row)
        else:
            message = (
                f"Part '{number}' {where} as '{known_type}', here it is '{part_type}'; "
                "a part has one part type; correct one of them."
            )
            sheet.refuse(Problem(row.line, "part_type", part_type, message))
    if missing:
        sheet.edit.batch.add_rows(_get_part_table(), missing)
        index.read_again()
    for row in kept:
        _replace_by_id(sheet, row.values)
    return kept


def _replace_by_id(sheet: SheetEdit, values: Values) -> None:
    part = sheet.edit.parts.find_exact(values.pop("maker_id"), values.pop("part_number"))
    if part is None:
        raise AssertionError("a part that was just made is not found")
    del values["part_type"]
    values["part_id"] = part.id


def _get_part_table() -> Table:
    return get_table("part")

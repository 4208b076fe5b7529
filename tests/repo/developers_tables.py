"""The tables of DEVELOPERS.md that follow from the code: reason codes, commands, catalogue files, positions.

Run as: python tests/repo/developers_tables.py (from the checkout; rewrites the tables in place).
"""

import re
import sys
from pathlib import Path

ROOT = Path(__file__).parents[2]
PAGE = ROOT / "DEVELOPERS.md"


def build_reasons() -> str:
    """One line for each reason code."""
    from kb.rules.fit.reasons import REASON_TEXT, ReasonCode

    lines = ["| code | what it says |", "|---|---|"]
    return "\n".join(lines + [f"| `{code}` | {REASON_TEXT[code]} |" for code in ReasonCode])


def build_commands() -> str:
    """One line for each command."""
    from api.cli import COMMANDS

    lines = ["| command | does |", "|---|---|"]
    return "\n".join(lines + [f"| `counterhand {name}` | {text} |" for name, (_, text) in COMMANDS.items()])


def build_sheets() -> str:
    """One line for each file of a catalogue folder."""
    from importers.sheets.catalogue import SHEETS

    lines = ["| file | columns (needed ones in bold) |", "|---|---|"]
    for sheet in SHEETS:
        columns = ", ".join(
            f"**{column.name}**" if column.required else column.name for column in sheet.columns
        )
        lines.append(f"| `{sheet.file_name}` | {columns} |")
    return "\n".join(lines)


def build_positions() -> str:
    """Part types with the positions that they can take."""
    from kb.terms import POSITIONS_OF_PART_TYPE

    lines = ["| part type | positions |", "|---|---|"]
    for part_type, positions in POSITIONS_OF_PART_TYPE.items():
        lines.append(f"| `{part_type}` | {', '.join(f'`{position}`' for position in positions) or '–'} |")
    return "\n".join(lines)


TABLES = {
    "reasons": build_reasons,
    "commands": build_commands,
    "sheets": build_sheets,
    "positions": build_positions,
}


def fill_in(text: str) -> str:
    """The page with every table made anew between its markers."""
    for name, build in TABLES.items():
        pattern = re.compile(rf"(<!-- table: {name} -->\n).*?(<!-- end -->)", re.DOTALL)
        if not pattern.search(text):
            raise SystemExit(f"DEVELOPERS.md has no place for the table '{name}'.")
        table = build()
        text = pattern.sub(lambda found, table=table: f"{found[1]}{table}\n{found[2]}", text)
    return text


if __name__ == "__main__":
    sys.path.insert(0, str(ROOT))
    PAGE.write_text(fill_in(PAGE.read_text(encoding="utf-8")), encoding="utf-8")

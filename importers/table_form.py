"""How a file is written: encoding, cell separator, decimal sign, order of dates, sheet.

What a file does not show without doubt stays None and is asked for.
"""

import codecs
import csv
import re
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

from importers.limits import UnreadableFile

BLOCK_BYTES = 1 << 20
SAMPLE_LINES = 60
DELIMITERS = {"comma": ",", "semicolon": ";", "tab": "\t", "bar": "|"}
ENCODINGS = ("utf-8", "cp1252", "latin-1", "utf-16")
DATE_ORDERS = ("day-month-year", "month-day-year", "year-month-day")
MARKS = (
    (codecs.BOM_UTF8, "utf-8-sig"),
    (codecs.BOM_UTF16_LE, "utf-16"),
    (codecs.BOM_UTF16_BE, "utf-16"),
)
_COMMA_DECIMAL = re.compile(
    r"(?<![0-9.,])[0-9]{1,3}(?:[. '’\u00a0\u202f]?[0-9]{3})*,(?:[0-9]{1,2}|[0-9]{4,})(?![0-9.,])"
)
_POINT_DECIMAL = re.compile(
    r"(?<![0-9.,])[0-9]{1,3}(?:[, '’\u00a0\u202f]?[0-9]{3})*\.(?:[0-9]{1,2}|[0-9]{4,})(?![0-9.,])"
)
_EITHER = re.compile(r"(?<![0-9.,])[0-9]{1,3}[.,][0-9]{3}(?![0-9.,])")


@dataclass(frozen=True, slots=True)
class TableForm:
    """How a file is written.

    Args:
        encoding: name of the encoding; None finds a byte-order mark or strict UTF-8, else asks.
        delimiter: mark between cells of a text file; None finds it, else asks.
        decimal: ``.`` or ``,``; None finds it in the cells, else asks.
        dates: order of day, month and year in dates; ISO dates are read in any case.
        sheet: name of the sheet of a workbook; None takes the only one that is filled, else asks.
    """

    encoding: str | None = None
    delimiter: str | None = None
    decimal: str | None = None
    dates: str | None = None
    sheet: str | None = None


def find_encoding(path: Path) -> str:
    """Encoding that a file shows by its first bytes or by being UTF-8 throughout.

    Raises:
        UnreadableFile: it is neither; the encoding must be named.
    """
    with path.open("rb") as file:
        start = file.read(4)
        for mark, encoding in MARKS:
            if start.startswith(mark):
                return encoding
        decoder = codecs.getincrementaldecoder("utf-8")("strict")
        file.seek(0)
        line = 1
        while block := file.read(BLOCK_BYTES):
            try:
                if "\0" in decoder.decode(block):
                    raise _ask_encoding("it holds zero bytes, as UTF-16 does", line)
            except UnicodeDecodeError as error:
                line += block[: error.start].count(b"\n")
                raise _ask_encoding(f"byte 0x{error.object[error.start]:02X} is not UTF-8", line) from error
            line += block.count(b"\n")
    return "utf-8"


def _ask_encoding(what: str, line: int) -> UnreadableFile:
    return UnreadableFile(
        f"The encoding of the file is not shown: {what}; save it as CSV (UTF-8), or name its encoding: "
        "cp1252 (Windows), latin-1 or utf-16.",
        line=line,
    )


def preview_encodings(path: Path) -> dict[str, str]:
    """The first words that are not plain ASCII, as each encoding would read them."""
    with path.open("rb") as file:
        start = file.read(BLOCK_BYTES)
    shown = {}
    for encoding in ("cp1252", "latin-1", "utf-16"):
        text = start.decode(encoding, errors="replace")
        words = [word for word in text[:20_000].split() if not word.isascii()]
        shown[encoding] = " ".join(words[:5])[:80]
    return shown


def find_delimiter(lines: Sequence[str]) -> str | None:
    """Mark between the cells of some lines; None when several are as likely.

    Example:
        >>> find_delimiter(["part;price", "A-1;12,50", "A-2;7,00"])
        ';'
    """
    scores = {mark: _count_steady_cells(lines, mark) for mark in DELIMITERS.values()}
    best = sorted(scores.items(), key=lambda item: -item[1])
    if best[0][1] == 0:
        return ","  # one column
    return None if best[0][1] == best[1][1] else best[0][0]


def _count_steady_cells(lines: Sequence[str], mark: str) -> float:
    """Cells of the most frequent width above one, times how many lines have it."""
    try:
        widths = [len(cells) for cells in csv.reader(lines, delimiter=mark) if cells]
    except csv.Error:
        widths = [line.count(mark) + 1 for line in lines]
    common = Counter(width for width in widths if width > 1).most_common(1)
    if not common:
        return 0.0
    width, count = common[0]
    return count * count * (1 + width / 1_000)


def find_decimal(cells: Iterable[str]) -> str | None:
    """Decimal sign of some cells; ``.`` when none holds a sign, None when the signs contradict or are unsure.

    Example:
        >>> find_decimal(["12,50", "1.234,00"]), find_decimal(["1,234"]), find_decimal(["7"])
        (',', None, '.')
    """
    commas = points = unsure = 0
    for cell in cells:
        commas += _COMMA_DECIMAL.search(cell) is not None
        points += _POINT_DECIMAL.search(cell) is not None
        unsure += _EITHER.search(cell) is not None
    if commas and points:
        return None
    if commas or points:
        return "," if commas else "."
    return None if unsure else "."

"""Workbooks looked at before they are opened: archive directory, real sizes, document types, far-off cells.

Nothing is unpacked to disk and no name in the archive is used as a path. Members are unpacked block by block
only to be counted and searched.
"""

import re
import zipfile
import zlib
from collections.abc import Collection
from pathlib import Path

from importers.workbook_marks import read_telling_styles

LARGEST_MEMBERS = 2_000
LARGEST_UNPACKED_BYTES = 400_000_000
LARGEST_RATIO = 100
SMALL_UNPACKED_BYTES = 2_000_000  # repetitive small sheets pack well
LARGEST_EMPTY_ROWS = 10_000
BLOCK_BYTES = 1 << 18
OVERLAP_BYTES = 256

_STYLES = "xl/styles.xml"
_LOCKED = b"\xd0\xcf\x11\xe0"
_DOCUMENT_TYPE = re.compile(rb"<!(?:DOCTYPE|ENTITY)", re.IGNORECASE)
_ROW = re.compile(rb'<(?:\w+:)?row\s[^>]*?\br="([0-9]+)"')
_FAR_COLUMN = re.compile(rb'<(?:\w+:)?c\s[^>]*?\br="(G[S-Z]|[H-Z][A-Z]|[A-Z]{3,})[0-9]+"')
_FORMULA = re.compile(rb"<(?:\w+:)?f[\s>/]")
# Computed cells, and number formats with leading zeros or a currency.
_ODS_FORMULA = re.compile(rb"\btable:formula=")
_ODS_FORMAT = re.compile(rb'\boffice:currency="|\bnumber:min-integer-digits="(?:[2-9]|[1-9][0-9])"')
_ODS_MERGED = re.compile(rb'\btable:number-rows-spanned="(?:[2-9]|[1-9][0-9])')
# Where a pattern above finds something, these do too; beginning with plain letters they are far faster.
_MAYBE_DOCUMENT_TYPE = b"!"
_TWO_LETTERS = re.compile(rb'r="[A-Z][A-Z]')
_MAYBE_FAR_COLUMN = re.compile(rb'r="(?:G[S-Z]|[H-Z][A-Z]|[A-Z]{3})')
_MAYBE_FORMULA = re.compile(rb"f[\s>/]")
_MAYBE_ROW = re.compile(rb'row\s(?:(?<=<row\s)r="([0-9]{1,9}))?')
_REPEATED = re.compile(rb'table:number-(?:columns|rows)-repeated="([0-9]+)"[^>]*?(?:office:value|/?>)')


class RefusedWorkbook(ValueError):
    """A workbook that is not opened; the message says why and what to do."""


class WorkbookFacts:
    """What a look through the archive showed."""

    def __init__(self, *, is_ods: bool) -> None:
        self.is_ods = is_ods
        self.has_formulas = False
        self.has_formats = False
        self.has_merged = False  # ODS only: of others, the reader of workbooks tells it
        self._styled: re.Pattern[bytes] | None = None

    def watch_styles(self, styles: Collection[str]) -> None:
        """Have cells of these styles noted as such with a telling number format."""
        if styles:
            self._styled = re.compile(rb'\bs="(?:%s)"' % "|".join(styles).encode())

    def note_formats(self, text: bytes) -> None:
        """Note cells of the watched styles."""
        if self._styled is not None and not self.has_formats:
            self.has_formats = self._styled.search(text) is not None


def check_workbook(path: Path) -> WorkbookFacts:
    """What a look through a workbook's archive shows.

    Raises:
        RefusedWorkbook: not a workbook that can be read safely.
    """
    with path.open("rb") as file:
        start = file.read(4)
    if start == _LOCKED:
        raise RefusedWorkbook(
            "The workbook is locked with a password or of the old .xls kind; "
            "save it as .xlsx without a password."
        )
    if start != b"PK\x03\x04":
        raise RefusedWorkbook("The file is not a workbook, whatever its name says; save it as .xlsx or CSV.")
    try:
        with zipfile.ZipFile(path) as archive:
            return _check_archive(archive)
    except (zipfile.BadZipFile, zlib.error, EOFError, NotImplementedError, RuntimeError, OSError) as error:
        raise RefusedWorkbook(
            "The workbook is cut off or damaged; save it again and check that it was copied completely."
        ) from error


def _check_archive(archive: zipfile.ZipFile) -> WorkbookFacts:
    members = archive.infolist()
    if len(members) > LARGEST_MEMBERS:
        raise RefusedWorkbook(
            f"The workbook has {len(members)} parts; at most {LARGEST_MEMBERS} are read; "
            "save the sheet as CSV."
        )
    names = {member.filename for member in members}
    if any(name.startswith(("/", "\\")) or ".." in name.replace("\\", "/").split("/") for name in names):
        raise RefusedWorkbook("The workbook holds parts with paths outside itself; save the sheet as CSV.")
    packed = sum(member.compress_size for member in members)
    unpacked = sum(member.file_size for member in members)
    _check_size(unpacked, packed)
    facts = WorkbookFacts(is_ods="content.xml" in names)
    if not facts.is_ods and not any(name.startswith("xl/") for name in names):
        raise RefusedWorkbook("The archive holds no workbook; choose an .xlsx, .ods or CSV file.")
    counted = 0
    for member in sorted(members, key=lambda member: member.filename != _STYLES):
        counted += _scan_member(archive, member, facts)
        _check_size(counted, packed)
        if member.filename == _STYLES:
            facts.watch_styles(read_telling_styles(archive))
    return facts


def _check_size(unpacked: int, packed: int) -> None:
    if unpacked > LARGEST_UNPACKED_BYTES or (
        unpacked > SMALL_UNPACKED_BYTES and unpacked > LARGEST_RATIO * max(packed, 1)
    ):
        raise RefusedWorkbook(
            f"The workbook unpacks to {unpacked} bytes or more from {packed}, as no price list does; "
            "save the sheet as CSV."
        )


def _scan_member(archive: zipfile.ZipFile, member: zipfile.ZipInfo, facts: WorkbookFacts) -> int:
    """Bytes of a member as they really unpack; refuses what must not be handed to a reader of workbooks."""
    counted = last_row = 0
    is_markup = member.filename.endswith((".xml", ".rels"))
    rest = b""
    with archive.open(member) as packed:
        while block := packed.read(BLOCK_BYTES):
            counted += len(block)
            if counted > LARGEST_UNPACKED_BYTES:
                raise RefusedWorkbook("The workbook unpacks to far more than a price list; save it as CSV.")
            text = rest + block
            if is_markup:
                _check_markup(text, counted)
            if facts.is_ods:
                _check_ods_block(text, facts)
            elif is_markup:  # any of them may be named as a sheet by the workbook
                last_row = _check_sheet_block(text, last_row, facts)
            rest = text[-OVERLAP_BYTES:]
    return counted


def _check_markup(text: bytes, counted: int) -> None:
    if (_MAYBE_DOCUMENT_TYPE in text and _DOCUMENT_TYPE.search(text)) or (
        counted <= BLOCK_BYTES and text.startswith((b"\xff\xfe", b"\xfe\xff"))
    ):
        raise RefusedWorkbook(
            "The workbook declares a document type of its own, which can hide a bomb; save the sheet as CSV."
        )


def _check_sheet_block(text: bytes, last_row: int, facts: WorkbookFacts) -> int:
    maybe_far = _TWO_LETTERS.search(text) and _MAYBE_FAR_COLUMN.search(text)
    far = _FAR_COLUMN.search(text) if maybe_far else None
    if far is not None:
        raise RefusedWorkbook(
            f"A sheet has cells in column {far[1].decode()}; at most 200 columns are read; "
            "delete what stands to the right of the table."
        )
    facts.note_formats(text)
    if not facts.has_formulas and _MAYBE_FORMULA.search(text):
        facts.has_formulas = _FORMULA.search(text) is not None
    rows = _list_row_numbers(text)
    if rows and rows[0] <= last_row + 1 and rows == list(range(rows[0], rows[0] + len(rows))):
        return max(last_row, rows[-1])  # as nearly every sheet is: one after the other
    for row in rows:
        if row > last_row + LARGEST_EMPTY_ROWS:
            raise RefusedWorkbook(
                f"A sheet has cells in row {row}, far below row {last_row}; "
                "delete what stands below the table."
            )
        last_row = max(last_row, row)
    return last_row


def _list_row_numbers(text: bytes) -> list[int]:
    """Numbers of all rows that begin in a block."""
    numbers: list[bytes] = _MAYBE_ROW.findall(text)
    if b"" in numbers:  # a row that begins with something else, or a word of a cell
        numbers = [number[:9] for number in _ROW.findall(text)]
    return list(map(int, numbers))


def _check_ods_block(text: bytes, facts: WorkbookFacts) -> None:
    facts.has_formulas = facts.has_formulas or _ODS_FORMULA.search(text) is not None
    facts.has_formats = facts.has_formats or _ODS_FORMAT.search(text) is not None
    facts.has_merged = facts.has_merged or _ODS_MERGED.search(text) is not None
    for found in _REPEATED.finditer(text):
        if int(found[1][:9]) > LARGEST_EMPTY_ROWS and b"office:value" in found[0]:
            raise RefusedWorkbook(
                f"A filled cell is repeated {int(found[1][:9])} times; delete what stands beside the table."
            )

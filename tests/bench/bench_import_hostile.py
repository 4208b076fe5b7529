"""Time and memory of files that are refused, of this process and of the reader of workbooks.

Run from the root of the repository: ``python tests/bench/bench_import_hostile.py``. A file is given to a new
process, so that its peak of memory is its own; a workbook's reader is measured once more alone, started by a
process that is smaller than itself. Both figures are what a good small file of the same kind does not take.

Targets: refused within 3 s, with at most 100 MB.
"""

import io
import json
import os
import subprocess
import sys
import tempfile
import time
import zipfile
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

TARGET_SECONDS = 3.0
TARGET_MB = 100.0
ROOT = Path(__file__).resolve().parents[2]
HEADING = ("maker", "part_number", "part_type")
# As small as can be: a process shows the peak of the one that started it when that was larger.
STARTER = (
    "import resource, subprocess, sys; subprocess.run(sys.argv[1:]); "
    "print(resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss, file=sys.stderr)"
)
READER = "import sys; from importers.workbook_child import main; sys.exit(main(sys.argv[1:]))"
SHEET = "xl/worksheets/sheet1.xml"
TABLE = '<office:document-content xmlns:office="urn:oasis:names:tc:opendocument:xmlns:office:1.0">'


def build_workbook(change: Callable[[zipfile.ZipFile], None], *, without: str = "") -> bytes:
    """A good XLSX file, with a member left out and others added."""
    import openpyxl

    book, good, out = openpyxl.Workbook(), io.BytesIO(), io.BytesIO()
    book.active.append(HEADING)
    book.active.append(("Wren", "N-1", "nut"))
    book.save(good)
    with zipfile.ZipFile(good) as source, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for name in source.namelist():
            if name != without:
                archive.writestr(name, source.read(name))
        change(archive)
    return out.getvalue()


def add(name: str, content: bytes) -> Callable[[zipfile.ZipFile], None]:
    """A change that adds a member."""
    return lambda archive: archive.writestr(name, content)


def write_sheet(rows: bytes) -> bytes:
    """Markup of a sheet."""
    space = b"http://schemas.openxmlformats.org/spreadsheetml/2006/main"
    return b'<worksheet xmlns="%s"><sheetData>%s</sheetData></worksheet>' % (space, rows)


def replace_sheet(rows: bytes) -> bytes:
    """An XLSX file with these rows."""
    return build_workbook(add(SHEET, write_sheet(rows)), without=SHEET)


def lie_about_size(content: bytes, name: str) -> bytes:
    """The archive, its directory saying that a member is small."""
    with zipfile.ZipFile(io.BytesIO(content)) as archive:
        size = archive.getinfo(name).file_size.to_bytes(4, "little")
    return content.replace(size, (1_000).to_bytes(4, "little"))


def build_ods(content: bytes) -> bytes:
    """An ODS file with this content."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("mimetype", "application/vnd.oasis.opendocument.spreadsheet")
        archive.writestr("content.xml", content)
    return out.getvalue()


def list_files() -> dict[str, bytes]:
    """Hostile files by name."""
    entities = b"".join(b'<!ENTITY e%d "%s">' % (n, b"&e%d;" % (n - 1) * 9) for n in range(1, 10))
    bomb = build_workbook(add(SHEET, b" " * 390_000_000), without=SHEET)
    cells = b"".join(b'<c r="A%d"><v>1</v></c>' % n for n in range(1, 400_000))
    names = b"<si><t>" + b"x" * 90_000_000 + b"</t></si>"
    return {
        "spaces.xlsx": bomb,
        "spaces-denied.xlsx": lie_about_size(bomb, SHEET),
        "texts.xlsx": build_workbook(add("xl/sharedStrings.xml", b"<sst>" + names + b"</sst>")),
        "far-row.xlsx": replace_sheet(
            b'<row r="1"><c r="A1"/></row><row r="1048576"><c r="GR1048576"/></row>'
        ),
        "far-cell.xlsx": replace_sheet(b'<row r="1"><c r="XFD1"><v>1</v></c></row>'),
        "far-row-elsewhere.xlsx": build_workbook(
            lambda archive: (
                archive.writestr(
                    "xl/other.xml", write_sheet(b'<row r="1"/><row r="900000"><c r="A900000"/></row>')
                ),
                archive.writestr(
                    "xl/_rels/workbook.xml.rels",
                    b'<Relationships><Relationship Id="rId1" Target="other.xml"/></Relationships>',
                ),
            )[0],
            without="xl/_rels/workbook.xml.rels",
        ),
        "one-row.xlsx": replace_sheet(b'<row r="1">' + cells + b"</row>"),
        "entities.xlsx": build_workbook(
            add(
                "xl/workbook.xml",
                b'<!DOCTYPE w [<!ENTITY e0 "ha">' + entities + b"]><workbook>&e9;</workbook>",
            ),
            without="xl/workbook.xml",
        ),
        "members.xlsx": build_workbook(
            lambda archive: [archive.writestr(f"xl/{n}.xml", b"<x/>") for n in range(3_000)] and None
        ),
        "entities.ods": build_ods(b'<!DOCTYPE w [<!ENTITY e0 "ha">' + entities + b"]>" + TABLE.encode()),
        "repeated.ods": build_ods(
            TABLE.encode() + b'<table:table-cell table:number-columns-repeated="900000" office:value="1"/>'
        ),
        "cut.xlsx": bomb[:200_000],
        "noise.xlsx": b"PK\x03\x04" + bytes(range(256)) * 40_000,
        "cell.csv": b"maker,part_number\nWren," + b"x" * 50_000_000,
        "line.csv": b"maker,part_number,part_type\n" + b"x," * 25_000_000,
        "columns.csv": b"maker," * 5_000 + b"part_number\n",
        "quote.csv": b'maker,part_number,part_type\nWren,"' + b"a\n" * 20_000_000,
        "zeros.csv": bytes(50_000_000),
    }


def refuse(path: Path) -> dict[str, Any]:
    """Seconds that a refusal takes in this process, growth of its peak of memory [MB], and the sentence."""
    import resource

    from importers.mapping import build_mapping
    from importers.sheet_file import SheetFile, load_file
    from kb.database import open_database, open_writer
    from kb.migrate import upgrade_schema

    engine = open_database(str(path) + ".db")
    upgrade_schema(engine)
    good = path.with_name("good" + path.suffix)

    def load(one: Path) -> str:
        file = SheetFile(one, one.name, build_mapping({"kind": "parts"}))
        with open_writer(engine) as session:
            problems = load_file(session, file, now=datetime.now(UTC)).files[0].problems
            session.rollback()
        return problems[0].message if problems else ""

    load(good)
    before, start = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss, time.perf_counter()
    sentence = load(path)
    seconds = time.perf_counter() - start
    megabytes = (resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before) / 1024
    engine.dispose()
    return {"seconds": seconds, "megabytes": megabytes, "sentence": sentence}


def start_small(*arguments: str) -> tuple[bytes, float]:
    """What a process of this interpreter writes, and its peak of memory [MB]."""
    environment = os.environ | {"PYTHONPATH": os.pathsep.join([str(ROOT), *filter(None, sys.path)])}
    command = [sys.executable, "-S", "-c", STARTER, sys.executable, *arguments]
    done = subprocess.run(command, env=environment, capture_output=True, check=True)
    return done.stdout, int(done.stderr.split()[-1]) / 1024


def measure_reader(path: Path) -> float:
    """Peak of memory of the reader of workbooks [MB]."""
    return start_small("-S", "-P", "-c", READER, str(path), "")[1]


def write_good_files(folder: Path) -> None:
    """A small good file of every kind."""
    (folder / "good.csv").write_text("maker,part_number,part_type\nWren,N-1,nut\n")
    (folder / "good.xlsx").write_bytes(build_workbook(lambda _archive: None))
    cell = '<table:table-cell office:value-type="string"><text:p>maker</text:p></table:table-cell>'
    (folder / "good.ods").write_bytes(build_ods((TABLE + cell + "</office:document-content>").encode()))


def main() -> None:
    """All of it; with a path, only that file, told as JSON."""
    if len(sys.argv) > 1:
        print(json.dumps(refuse(Path(sys.argv[1]))))
        return
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        write_good_files(folder)
        bases = {ending: measure_reader(folder / f"good{ending}") for ending in (".xlsx", ".ods")}
        for file_name, content in list_files().items():
            path = folder / file_name
            path.write_bytes(content)
            told = json.loads(start_small(__file__, str(path))[0])
            ending = path.suffix
            reader = measure_reader(path) - bases[ending] if ending in bases else 0.0
            is_met = told["sentence"] and told["seconds"] <= TARGET_SECONDS
            is_met = is_met and max(told["megabytes"], reader) <= TARGET_MB
            print(
                f"{file_name}: {told['seconds']:.2f} s (target 3), {told['megabytes']:.0f} MB here, "
                f"{max(reader, 0.0):.0f} MB in the reader (target 100){'' if is_met else ' MISSED'}; "
                f"{told['sentence'][:70] or 'NOT REFUSED'}"
            )
            path.unlink()


if __name__ == "__main__":
    main()

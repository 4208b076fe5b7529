"""``counterhand import``: load a catalogue folder, or one price list, stock count or fit list."""

import json
import time
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from api.commands.options import add_database_option, add_json_option, open_engine, print_json
from api.commands.printing import print_table

if TYPE_CHECKING:
    from importers.report import ImportReport
    from importers.sheet_file import SheetFile

EXIT_REFUSED = 3
SHOWN_PROBLEMS = 40
SHOWN_CHANGES = 20
EPILOG = """\b
Examples:
  counterhand import my_catalogue/ --dry-run
  counterhand import alder.xlsx --kind parts --set source=alder-2026 --dry-run
  counterhand import alder.xlsx --kind offers --set supplier=alder --save-mapping alder.toml
  counterhand import alder-march.xlsx --mapping alder.toml --keep-good-rows
  counterhand import alder-april.xlsx --kind offers --set supplier=alder --remember alder
  counterhand import alder-may.xlsx --mapping alder

--set gives what holds for the whole file: a column's value (supplier=alder, location=shop, maker=Wren), or
how it is written: encoding, delimiter (comma, semicolon, tab, bar), decimal (. or ,), dates (day-month-year,
month-day-year), sheet, duplicates (ask, same, new), unknown (ask, leave out).

Exit status: 0 done, 3 rows were refused (and nothing was written, unless good rows were kept), 1 failed."""


@click.command("import", epilog=EPILOG)
@click.argument("path", type=click.Path(path_type=Path))
@click.option("--kind", help="Kind of sheet: parts, offers, fits, stock, demand and others.")
@click.option(
    "--mapping", metavar="FILE_OR_NAME", help="What the columns mean: a TOML file, or a name remembered."
)
@click.option("--column", "columns", multiple=True, metavar="HEADING=COLUMN", help="What one heading means.")
@click.option("--set", "settings", multiple=True, metavar="NAME=VALUE", help="What holds for the whole file.")
@click.option("--dry-run", is_flag=True, help="Say what would happen, write nothing.")
@click.option("--keep-good-rows", is_flag=True, help="Write the good rows, leave the refused ones out.")
@click.option(
    "--save-mapping", type=click.Path(path_type=Path), help="Write what the columns mean to a file."
)
@click.option("--remember", metavar="NAME", help="Remember what the columns mean in the database.")
@click.option("--refused", "refused_file", type=click.Path(path_type=Path), help="Write refused rows as CSV.")
@add_json_option
@add_database_option
@click.pass_context
def command(ctx: click.Context, path: Path, *, as_json: bool, database_url: str | None, **said: Any) -> None:
    """Load PATH: a folder of CSV files, or one CSV, TSV, XLSX or ODS file; all of it or nothing."""
    from kb.database import open_trial, open_writer  # noqa: PLC0415 - keeps --help quick
    from kb.edits.upgrade import upgrade_database  # noqa: PLC0415

    engine = open_engine(database_url)
    load = _build_loader(path, said | {"engine": engine})
    upgrade_database(engine)
    # A dry run never keeps other writers waiting.
    open_session = open_trial if said["dry_run"] else open_writer
    with open_session(engine) as session, _Progress() as progress:
        report = load(session, progress)
        _remember(session, said["remember"], report)
    answer = report.as_json()
    if as_json:
        print_json(answer)
    else:
        print_report(answer)
    ctx.exit(EXIT_REFUSED if report.has_problems else 0)


Load = Callable[[Any, "_Progress"], "ImportReport"]


def _build_loader(path: Path, said: dict[str, Any]) -> Load:
    """What loads the path; a file's mapping is read before the database is opened."""
    from importers.load import load_folder  # noqa: PLC0415
    from importers.run import ImportOptions  # noqa: PLC0415
    from importers.sheet_file import SHOWN_CHANGES as KEPT_CHANGES  # noqa: PLC0415
    from importers.sheet_file import load_file  # noqa: PLC0415
    from kb.errors import BadInput  # noqa: PLC0415

    def build_options(progress: "_Progress") -> ImportOptions:
        return ImportOptions(
            dry_run=said["dry_run"],
            progress=progress,
            keeps_good_rows=said["keep_good_rows"],
            shown_changes=KEPT_CHANGES,
        )

    if path.is_dir():
        if said["mapping"] or said["kind"]:
            raise click.UsageError(
                "A folder says by its file names what it holds; leave out --kind and --mapping."
            )
        return lambda session, progress: load_folder(
            session, path, now=datetime.now(UTC), options=build_options(progress)
        )
    if not path.exists():
        raise BadInput(f"'{path}' does not exist; name a catalogue folder or a CSV, TSV, XLSX or ODS file.")
    file = _build_file(path, said)

    def load_one(session: Any, progress: "_Progress") -> "ImportReport":
        report = load_file(session, file, now=datetime.now(UTC), options=build_options(progress))
        _write_refused(file, report, said["refused_file"])
        return report

    return load_one


def _build_file(path: Path, said: dict[str, Any]) -> "SheetFile":
    from importers.mapping import format_mapping  # noqa: PLC0415
    from importers.sheet_file import SheetFile, inspect_file  # noqa: PLC0415

    file = SheetFile(path, path.name, _build_mapping(path, said))
    if said["save_mapping"] is not None:
        found = inspect_file(file)
        said["save_mapping"].write_text(format_mapping(found.mapping), encoding="utf-8")
        click.echo(f"What the columns mean is written to {said['save_mapping']}.", err=True)
    return file


def _build_mapping(path: Path, said: dict[str, Any]) -> Any:
    from importers.mapping import build_mapping, get_kinds  # noqa: PLC0415
    from importers.table_form import TableForm  # noqa: PLC0415

    kind = said["kind"] or (path.stem if path.stem in get_kinds() else None)
    if kind is not None and kind not in get_kinds():
        raise click.UsageError(f"Kind '{kind}' is not known; write one of {', '.join(get_kinds())}.")
    if said["mapping"] is not None:
        mapping = _read_mapping(said)
    elif kind is None:
        kinds = ", ".join(get_kinds())
        raise click.UsageError(f"What kind of sheet is it? Add --kind with one of {kinds}.")
    else:
        mapping = build_mapping({"kind": kind})
    own: dict[str, Any] = {}
    for name, value in (_split_pair(text, "--set") for text in said["settings"]):
        if name in TableForm.__slots__:
            own.setdefault("form", {})[name] = value
        elif name in ("duplicates", "unknown", "source_kind"):
            own[name] = value
        else:
            own.setdefault("values", {})[name] = value
    if said["columns"]:
        own["columns"] = dict(_split_pair(text, "--column") for text in said["columns"])
    return mapping.merge(own)


def _read_mapping(said: dict[str, Any]) -> Any:
    """The mapping of a file, or else that remembered under the name."""
    from importers.mapping import parse_mapping  # noqa: PLC0415
    from importers.next_file import read_kept_mapping  # noqa: PLC0415
    from kb.database import open_reader  # noqa: PLC0415
    from kb.edits.upgrade import upgrade_database  # noqa: PLC0415
    from kb.errors import BadInput, NotFound  # noqa: PLC0415
    from kb.lookups.column_maps import get_column_map  # noqa: PLC0415

    path = Path(said["mapping"])
    if path.suffix or path.exists():
        try:
            return parse_mapping(path.read_text(encoding="utf-8"), kind=said["kind"])
        except (OSError, UnicodeError) as error:
            raise BadInput(f"Mapping file '{path}' cannot be read; name a TOML file in UTF-8.") from error
    upgrade_database(said["engine"])
    try:
        with open_reader(said["engine"]) as session:
            kept = get_column_map(session, said["mapping"], said["kind"])
            return read_kept_mapping(json.loads(kept.mapping_json))
    except NotFound as error:
        raise BadInput(f"'{path}' is no file either: {error}") from error


def _remember(session: Any, name: str | None, report: "ImportReport") -> None:
    from api.remembered import remember_columns  # noqa: PLC0415
    from kb.lookups.imports import get_import  # noqa: PLC0415

    if name is None:
        return
    if report.batch is None:
        click.echo("Nothing was loaded, so nothing is remembered.", err=True)
        return
    remember_columns(session, name, get_import(session, report.batch)["mapping"], now=datetime.now(UTC))
    click.echo(f"What the columns mean is remembered as '{' '.join(name.split())}'.", err=True)


def _split_pair(text: str, option: str) -> tuple[str, str]:
    name, mark, value = text.rpartition("=") if option == "--column" else text.partition("=")
    if not mark or not name:
        raise click.UsageError(f"'{text}' is not understood; write {option} NAME=VALUE.")
    return name.strip(), value.strip()


def _write_refused(file: "SheetFile", report: "ImportReport", path: Path | None) -> None:
    from importers.sheet_file import format_refused  # noqa: PLC0415

    if path is None or not report.files[0].refused_lines:
        return
    path.write_text(format_refused(file, report.files[0]), encoding="utf-8")
    click.echo(f"Refused rows are written to {path}.", err=True)


class _Progress:
    """A bar with rate and time left on standard error, shown only on a terminal and for loads worth one."""

    WORTH_BYTES = 2_000_000

    def __init__(self) -> None:
        self._bar: Any = None
        self._shown = self._rows = 0
        self._began = time.monotonic()

    def __enter__(self) -> "_Progress":
        return self

    def __exit__(self, *_: object) -> None:
        if self._bar is not None:
            self._bar.__exit__(None, None, None)

    def __call__(self, done: int, total: int, rows: int) -> None:
        self._rows = rows
        if total < self.WORTH_BYTES:
            return
        if self._bar is None:
            stream = click.get_text_stream("stderr")
            self._bar = click.progressbar(
                length=total, label="Loading", file=stream, item_show_func=self._say_rate, show_eta=True
            ).__enter__()
        step, self._shown = done - self._shown, done
        self._bar.update(step, done)

    def _say_rate(self, done: int | None) -> str:
        seconds = max(time.monotonic() - self._began, 0.001)
        return f"{self._rows} rows, {self._rows / seconds:.0f} rows/s, {(done or 0) / seconds / 1e6:.1f} MB/s"


def print_report(answer: dict[str, Any]) -> None:
    """Counts by file, refused rows with line, column and what to do, and what is worth knowing."""
    columns = {
        "file": "File",
        "added": "Added",
        "changed": "Changed",
        "unchanged": "Unchanged",
        "refused": "Refused",
    }
    print_table(answer["files"], columns)
    problems = [(file["file"], problem) for file in answer["files"] for problem in file["problems"]]
    for file_name, problem in problems[:SHOWN_PROBLEMS]:
        place = ":".join(str(word) for word in (file_name, problem["line"]) if word)
        column = f" {problem['column']}" if problem.get("column") else ""
        click.echo(f"{place}{column}: {problem['message']}", err=True)
    if len(problems) > SHOWN_PROBLEMS:
        click.echo(f"... and {len(problems) - SHOWN_PROBLEMS} more; --json lists them all.", err=True)
    for file in answer["files"]:
        _print_changes(file, dry_run=answer["dry_run"])
        _print_notices(file)
    click.echo(_sum_up(answer, has_problems=bool(problems)), err=bool(problems))


def _print_changes(file: dict[str, Any], *, dry_run: bool) -> None:
    if not dry_run:
        return
    for change in file["changes"][:SHOWN_CHANGES]:
        about = " ".join(filter(None, (change["maker"], change["part_number"])))
        values = "; ".join(
            f"{value['column']} {_say(value['old'])} → {_say(value['new'])}"
            if change["action"] == "changed"
            else f"{value['column']} {_say(value['new'])}"
            for value in change["values"]
        )
        click.echo(f"{file['file']}:{change['line']}: {change['action']} {about}: {values}")
    rest = file["added"] + file["changed"] - min(len(file["changes"]), SHOWN_CHANGES)
    if rest > 0 and file["changes"]:
        click.echo(f"... and {rest} more rows.")


def _say(value: Any) -> str:
    return "nothing" if value is None else str(value)


def _print_notices(file: dict[str, Any]) -> None:
    shown = [notice for notice in file["notices"] if notice["topic"] != "read_from_text"]
    for notice in shown[:SHOWN_PROBLEMS]:
        column = f" {notice['column']}" if notice["column"] else ""
        click.echo(f"{file['file']}:{notice['line']}{column}: note: {notice['message']}")
    read = file["notice_counts"].get("read_from_text")
    if read:
        click.echo(f"{file['file']}: {read} values were read out of descriptions; --json lists the first.")


def _sum_up(answer: dict[str, Any], *, has_problems: bool) -> str:
    if answer["batch"] is not None:
        left = " The refused rows were left out." if has_problems else ""
        return f"Loaded as batch {answer['batch']}.{left}"
    if has_problems:
        return "Nothing was written; mend these and load again."
    if answer["dry_run"]:
        return "Dry run: nothing was written."
    return "Nothing changed: all of it was loaded before."

"""Import jobs in processes of their own: stopped, too slow, broken or orphaned ones write nothing.

The database tells what was written; what had committed before its end is reported as loaded.
"""

import json
import shutil
import subprocess
import sys
from dataclasses import asdict
from pathlib import Path

import pytest
from sqlalchemy import Engine, text

from api import import_job, import_runner
from api.import_job import ImportJob, run_job
from api.import_runner import ImportRunner
from api.import_watch import ImportWatch, Stopped

ROWS_OF_TWO_GROUPS = 10_050
HEADING = "maker,part_number,part_type\n"


@pytest.fixture
def sheet(tmp_path: Path) -> Path:
    path = tmp_path / "few.csv"
    path.write_text(HEADING + "Wren-Test,N-1,nut\nWren-Test,N-2,nut\n")
    return path


@pytest.fixture
def long_sheet(tmp_path: Path) -> Path:
    path = tmp_path / "long.csv"
    rows = (f"Wren-Test,N-{number},nut\n" for number in range(ROWS_OF_TWO_GROUPS))
    path.write_text(HEADING + "".join(rows))
    return path


def build_job(path: Path, **said: object) -> ImportJob:
    return ImportJob("load", str(path), path.name, kind="parts", **said)  # type: ignore[arg-type]


def count_parts(engine: Engine) -> int:
    with engine.connect() as connection:
        return connection.execute(text("SELECT count(*) FROM part")).scalar_one()


class StopsAtOnce(ImportWatch):
    """A person who presses stop when the first rows are read."""

    def note(self, done: int, total: int, rows: int) -> None:
        self.done, self.total, self.rows = done, total, rows
        self.stop("It was stopped.")


def test_job_apart_loads_and_tells_how_far_it_is(sqlite_engine: Engine, sheet: Path):
    watch = ImportWatch()
    answer = ImportRunner(sqlite_engine).run_in_turn(build_job(sheet), watch, seconds=60)
    assert (answer.status, count_parts(sqlite_engine)) == (201, 2)
    size = sheet.stat().st_size
    assert (watch.done, watch.total, watch.rows, watch.percent) == (size, size, 2, 100)


def test_connection_with_temporary_tables_names_its_own_file(sqlite_engine: Engine, sheet: Path):
    with sqlite_engine.connect() as connection:
        connection.execute(text("CREATE TEMPORARY TABLE note (word TEXT)"))
        connection.commit()
    assert ImportRunner(sqlite_engine).run(build_job(sheet)).status == 201


def test_preview_apart_writes_nothing(sqlite_engine: Engine, sheet: Path):
    answer = ImportRunner(sqlite_engine).run(build_job(sheet, dry_run=True))
    assert answer.body is not None
    assert (answer.body["files"][0]["added"], count_parts(sqlite_engine)) == (2, 0)


def test_stopped_job_leaves_nothing_and_the_next_one_loads(sqlite_engine: Engine, long_sheet: Path):
    runner, watch = ImportRunner(sqlite_engine), StopsAtOnce()
    with pytest.raises(Stopped, match="It was stopped"):
        runner.run_in_turn(build_job(long_sheet), watch, seconds=60)
    assert 0 < watch.rows < ROWS_OF_TWO_GROUPS
    assert count_parts(sqlite_engine) == 0
    assert runner.run(build_job(long_sheet)).status == 201
    assert count_parts(sqlite_engine) == ROWS_OF_TWO_GROUPS


def test_job_that_takes_too_long_is_ended(sqlite_engine: Engine, sheet: Path):
    with pytest.raises(Stopped, match=r"took longer than 0\.01 s and was stopped; nothing was written"):
        ImportRunner(sqlite_engine, seconds=0.01).run(build_job(sheet))
    assert count_parts(sqlite_engine) == 0


def test_job_that_breaks_is_an_error_inside(
    sqlite_engine: Engine, sheet: Path, monkeypatch: pytest.MonkeyPatch
):
    monkeypatch.setattr(sys, "executable", shutil.which("false"))
    with pytest.raises(RuntimeError, match="import job ended by 1"):
        ImportRunner(sqlite_engine).run(build_job(sheet))
    assert count_parts(sqlite_engine) == 0


def test_job_ended_after_its_commit_is_reported_as_loaded(
    sqlite_engine: Engine, sheet: Path, monkeypatch: pytest.MonkeyPatch
):
    def commit_and_break(process, _order, _watch, *, seconds):
        process.close()
        run_job(sqlite_engine, build_job(sheet))
        raise Stopped(f"after {seconds} s")

    monkeypatch.setattr(import_runner, "_run_apart", commit_and_break)
    answer = ImportRunner(sqlite_engine).run(build_job(sheet))
    assert answer.body is not None
    assert (answer.status, answer.body["files"][0]["added"]) == (201, 2)
    assert answer.body["batch"] is not None
    # The same file again changes nothing, and is not taken for the import before it.
    with pytest.raises(Stopped):
        ImportRunner(sqlite_engine).run(build_job(sheet))


def test_process_that_stands_by_is_taken_once_and_one_that_ended_is_replaced(
    sqlite_engine: Engine, sheet: Path
):
    runner = ImportRunner(sqlite_engine)
    runner.prepare()
    runner.prepare()
    [waiting] = runner._standby._waiting
    assert runner.run(build_job(sheet, dry_run=True)).status == 200
    assert runner._standby._waiting == []
    assert not waiting.is_alive
    runner.prepare()
    [waiting] = runner._standby._waiting
    waiting.end()
    waiting.wait()
    assert runner.run(build_job(sheet)).status == 201


def test_process_that_stands_by_ends_with_the_application(sqlite_engine: Engine):
    runner = ImportRunner(sqlite_engine)
    runner.prepare()
    [waiting] = runner._standby._waiting
    assert waiting.is_alive
    del runner
    assert not waiting.is_alive


def test_job_ends_with_the_server(sqlite_engine: Engine, long_sheet: Path, tmp_path: Path):
    said = {"database": str(tmp_path / "counterhand.db"), "job": asdict(build_job(long_sheet))}
    with subprocess.Popen(
        [sys.executable, "-m", "api.import_job"],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        cwd=Path(import_job.__file__).parents[1],
    ) as process:
        assert process.stdin is not None
        assert process.stdout is not None
        process.stdin.write(json.dumps(said).encode() + b"\n")
        process.stdin.flush()
        assert 0 < json.loads(process.stdout.readline())["progress"][2] < ROWS_OF_TWO_GROUPS
        process.stdin.close()
        assert process.wait(timeout=30) == 1
    assert count_parts(sqlite_engine) == 0


def test_second_job_waits_its_turn_and_may_be_stopped_there(sqlite_engine: Engine, sheet: Path):
    runner, watch = ImportRunner(sqlite_engine), ImportWatch()
    runner._loads.acquire()
    watch.stop("It was stopped.")
    with pytest.raises(Stopped):
        runner.run_in_turn(build_job(sheet), watch, seconds=60)
    assert watch.is_waiting
    assert runner.run(build_job(sheet)).status == 429  # whose answer is waited for is told to come again
    runner._loads.release()
    assert count_parts(sqlite_engine) == 0


def test_look_goes_on_beside_a_load(sqlite_engine: Engine, sheet: Path):
    runner = ImportRunner(sqlite_engine)
    runner._loads.acquire()
    answer = runner.run(ImportJob("inspect", str(sheet), sheet.name))
    assert answer.body is not None
    assert (answer.body["kind"], answer.body["is_kind_clear"]) == ("parts", True)


def test_file_that_needs_too_much_memory_is_a_refusal(
    sqlite_engine: Engine, sheet: Path, monkeypatch: pytest.MonkeyPatch
):
    def take_much(*_arguments, **_named):
        raise MemoryError

    monkeypatch.setattr(import_job, "load_file", take_much)
    answer = run_job(sqlite_engine, build_job(sheet))
    assert answer.problem is not None
    assert (answer.status, "needs more memory" in answer.problem["detail"]) == (422, True)
    assert count_parts(sqlite_engine) == 0


def test_memory_of_a_job_is_limited():
    code = (
        "from api import import_job; import_job.MEMORY_BYTES = 10**9; import_job._limit_memory(); "
        "bytearray(2 * 10**9)"
    )
    folder = Path(import_job.__file__).parents[1]
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, cwd=folder, check=False)
    assert (done.returncode, done.stderr.decode().splitlines()[-1]) == (1, "MemoryError")


def test_rate_and_time_left_follow_from_the_rows_so_far(monkeypatch: pytest.MonkeyPatch):
    watch = ImportWatch()
    assert (watch.is_waiting, watch.rows_per_second, watch.seconds_left) == (True, None, None)
    watch.began_at = 100.0
    watch.note(250, 1000, 600)
    monkeypatch.setattr("api.import_watch.time.monotonic", lambda: 103.0)
    # 600 rows in 3 s; a quarter read in 3 s leaves three times as long.
    assert (watch.percent, watch.rows_per_second, watch.seconds_left) == (25, 200, 9)

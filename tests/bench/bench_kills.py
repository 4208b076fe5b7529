"""Kills imports and backups at moments spread over their time, and looks at what is left.

Run by hand: ``python tests/bench/bench_kills.py [ROUNDS]``. Prints how many rounds ended with nothing, with
all, or broken; broken must be 0. A kill ends the program, not the system: a loss of power is not tried.
"""

import signal
import sqlite3
import subprocess
import sys
import tempfile
import time
from collections import Counter
from contextlib import closing
from pathlib import Path

ROOT = Path(__file__).parents[2]
PROGRAM = (sys.executable, "-c", "from api.cli import main; main()")


def start(*arguments: object) -> subprocess.Popen[bytes]:
    """The program, run from the source folder."""
    command = [*PROGRAM, *map(str, arguments)]
    return subprocess.Popen(command, cwd=ROOT, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)


def measure(*arguments: object) -> float:
    """Seconds that the undisturbed command takes."""
    started = time.monotonic()
    assert start(*arguments).wait() == 0
    return time.monotonic() - started


def kill_after(seconds: float, *arguments: object) -> None:
    process = start(*arguments)
    try:
        process.wait(seconds)
    except subprocess.TimeoutExpired:
        process.send_signal(signal.SIGKILL)
        process.wait()


def count_parts(path: Path) -> int:
    with closing(sqlite3.connect(path)) as connection:
        return int(connection.execute("SELECT count(*) FROM part").fetchone()[0])


def is_sound(path: Path) -> bool:
    return start("check", "--db", path).wait() == 0


def kill_imports(folder: Path, rounds: int) -> Counter[str]:
    empty, whole = folder / "empty.db", folder / "whole.db"
    start("key", "list", "--db", empty).wait()
    assert start("key", "add", "x", "--role", "read", "--db", empty).wait() == 0
    template = empty.read_bytes()
    whole.write_bytes(template)
    seconds = measure("import", ROOT / "demo_catalog", "--db", whole)
    parts, found = count_parts(whole), Counter[str]()
    for number in range(rounds):
        path = folder / f"import{number}.db"
        path.write_bytes(template)
        kill_after(1.5 * seconds * (number + 0.5) / rounds, "import", ROOT / "demo_catalog", "--db", path)
        count = count_parts(path)
        sound = is_sound(path)
        found["nothing" if (count == 0 and sound) else "all" if (count == parts and sound) else "broken"] += 1
        path.unlink()
    return found


def kill_backups(folder: Path, rounds: int) -> Counter[str]:
    whole, target = folder / "whole.db", folder / "kept.backup"
    seconds = measure("backup", target, "--db", whole)
    found = Counter[str]()
    for number in range(rounds):
        before = target.read_bytes()
        kill_after(1.5 * seconds * (number + 0.5) / rounds, "backup", target, "--db", whole)
        outcome = "nothing" if target.read_bytes() == before else "all"
        restored = start("restore", target, "--db", folder / f"back{number}.db").wait() == 0
        found[outcome if restored else "broken"] += 1
    found["broken"] += not is_sound(whole)
    return found


def main() -> None:
    """Both, with what was found."""
    rounds = int(sys.argv[1]) if len(sys.argv) > 1 else 20
    with tempfile.TemporaryDirectory() as name:
        for what, kill in (("import", kill_imports), ("backup", kill_backups)):
            found = kill(Path(name), rounds)
            print(
                f"{what}: {rounds} kills, "
                + ", ".join(f"{found[key]} {key}" for key in ("nothing", "all", "broken"))
            )


if __name__ == "__main__":
    main()

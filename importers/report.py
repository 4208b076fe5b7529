"""What an import did or would do, file by file, in the shape that scripts rely on."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from kb.edits.notices import RowChange
from kb.edits.problem import Notice, Problem


@dataclass(frozen=True, slots=True)
class FileReport:
    """Rows of one file: added, changed, left alone, refused, and what was wrong or worth knowing.

    ``problems`` lists the first hundred; ``problem_count`` counts all. ``changes`` lists the first rows that
    are added or changed, where that was asked for;
    ``refused_lines`` the first refused lines with what is wrong.
    """

    file: str
    kind: str | None
    added: int = 0
    changed: int = 0
    unchanged: int = 0
    refused: int = 0
    problems: tuple[Problem, ...] = ()
    problem_count: int = 0
    notices: tuple[Notice, ...] = ()
    notice_counts: Mapping[str, int] = field(default_factory=dict)
    changes: tuple[RowChange, ...] = ()
    refused_lines: Mapping[int, str] = field(default_factory=dict)

    def as_json(self) -> dict[str, Any]:
        """The file's part of the report."""
        return {
            "file": self.file,
            "kind": self.kind,
            "added": self.added,
            "changed": self.changed,
            "unchanged": self.unchanged,
            "refused": self.refused,
            "problem_count": self.problem_count,
            "problems": [
                {
                    "line": problem.line,
                    "column": problem.column,
                    "value": problem.value,
                    "message": problem.message,
                }
                for problem in self.problems
            ],
            "notice_counts": dict(self.notice_counts),
            "notices": [
                {
                    "line": notice.line,
                    "topic": notice.topic,
                    "column": notice.column,
                    "value": notice.value,
                    "message": notice.message,
                    "choice": notice.choice,
                }
                for notice in self.notices
            ],
            "changes": [_shape_change(change) for change in self.changes],
        }


def _shape_change(change: RowChange) -> dict[str, Any]:
    return {
        "line": change.line,
        "action": change.action,
        "maker": change.maker,
        "part_number": change.part_number,
        "values": [
            {"column": name, "old": _say(change.before.get(name)), "new": _say(value)}
            for name, value in change.after.items()
        ],
    }


def _say(value: Any) -> Any:
    return value.isoformat() if isinstance(value, date) else value


@dataclass(frozen=True, slots=True)
class ImportReport:
    """Result of an import. ``batch`` names what was written; None when nothing was."""

    batch: str | None
    dry_run: bool
    files: tuple[FileReport, ...]

    @property
    def has_problems(self) -> bool:
        """Whether anything was refused."""
        return any(file.problem_count for file in self.files)

    def as_json(self) -> dict[str, Any]:
        """The report as scripts see it; ``written`` says whether the counts came true."""
        return {
            "batch": self.batch,
            "dry_run": self.dry_run,
            "written": self.batch is not None,
            "files": [file.as_json() for file in self.files],
        }

"""What an import did or would do, file by file, in the shape that scripts rely on."""

from dataclasses import dataclass
from typing import Any

from kb.edits.problem import Problem


@dataclass(frozen=True, slots=True)
class FileReport:
    """Rows of one file: added, changed, left alone, refused, and what was wrong.

    ``problems`` lists the first hundred; ``problem_count`` counts all.
    """

    file: str
    kind: str | None
    added: int = 0
    changed: int = 0
    unchanged: int = 0
    refused: int = 0
    problems: tuple[Problem, ...] = ()
    problem_count: int = 0

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
        }


@dataclass(frozen=True, slots=True)
class ImportReport:
    """Result of an import. ``batch`` names what was written; None when nothing was."""

    batch: str | None
    dry_run: bool
    files: tuple[FileReport, ...]

    @property
    def has_problems(self) -> bool:
        """Whether anything was refused, and so nothing written."""
        return any(file.problem_count for file in self.files)

    def as_json(self) -> dict[str, Any]:
        """The report as scripts see it; ``written`` says whether the counts came true."""
        return {
            "batch": self.batch,
            "dry_run": self.dry_run,
            "written": self.batch is not None,
            "files": [file.as_json() for file in self.files],
        }

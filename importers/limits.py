"""Sizes above which a file is not read, and the error of a file that cannot be read on."""

from dataclasses import dataclass

from kb.errors import BadInput


@dataclass(frozen=True, slots=True)
class Limits:
    """Sizes above which a file is refused."""

    file_bytes: int = 500_000_000
    rows: int = 5_000_000
    columns: int = 200
    cell_characters: int = 32_767


class UnreadableFile(BadInput):
    """A file that cannot be read on, with the line where reading stopped."""

    def __init__(self, message: str, *, line: int) -> None:
        super().__init__(message)
        self.line = line

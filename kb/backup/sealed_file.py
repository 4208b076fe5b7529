"""One file that holds a copy of a database, its manifest and the digest of both.

The copy comes first, so that other programs still read it; then one line with the manifest as JSON, then one
line with the SHA-256 of all bytes before it. A file with any byte changed, missing or added is told from a
good one, and no second file can be lost or mixed up.
"""

import hashlib
import json
import os
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

from kb.errors import BadInput

MARK = b"\ncounterhand-backup-1 "
_DIGEST_LINE = 1 + 64 + 1
_LONGEST_MANIFEST = 64 * 1024
_CHUNK = 1024 * 1024


@dataclass(frozen=True, slots=True)
class Manifest:
    """What a backup says of itself: rows by table, the schema's version, how large the copy is."""

    database: str
    schema: str
    made_at_utc: str
    copy_bytes: int
    copy_sha256: str
    rows: Mapping[str, int]

    def as_json(self) -> dict[str, Any]:
        """The manifest for JSON."""
        return {**asdict(self), "rows": dict(self.rows)}


def digest_file(path: Path, *, first_bytes: int | None = None) -> str:
    """SHA-256 of a file, or of its first bytes."""
    digest = hashlib.sha256()
    left = path.stat().st_size if first_bytes is None else first_bytes
    with path.open("rb") as file:
        while left and (chunk := file.read(min(_CHUNK, left))):
            digest.update(chunk)
            left -= len(chunk)
    return digest.hexdigest()


def seal(path: Path, manifest: Manifest) -> None:
    """Append manifest and digest to a copy, and wait until the disk has it."""
    with path.open("ab") as file:
        file.write(MARK + json.dumps(manifest.as_json(), sort_keys=True).encode())
    digest = digest_file(path)
    with path.open("ab") as file:
        file.write(b"\n" + digest.encode() + b"\n")
        file.flush()
        os.fsync(file.fileno())


def read_manifest(path: Path) -> Manifest:
    """The manifest of a sealed file, after every byte of it was verified.

    Raises:
        BadInput: the file is missing, no backup, cut off or damaged.
    """
    try:
        size = path.stat().st_size
        with path.open("rb") as file:
            file.seek(max(size - _LONGEST_MANIFEST, 0))
            tail = file.read()
    except OSError as error:
        raise BadInput(f"Backup '{path}' cannot be read: {error.strerror}.", field="file") from error
    place = tail.rfind(MARK)
    if place < 0 or len(tail) < _DIGEST_LINE:
        raise BadInput(
            f"'{path}' is not a whole backup of Counterhand; it was made otherwise or is cut off.",
            field="file",
        )
    sealed = tail[-_DIGEST_LINE:]
    if sealed != b"\n" + digest_file(path, first_bytes=size - _DIGEST_LINE).encode() + b"\n":
        raise BadInput(
            f"Backup '{path}' is damaged: its bytes are not those written; use another.", field="file"
        )
    manifest = Manifest(**json.loads(tail[place + len(MARK) : -_DIGEST_LINE]))
    if manifest.copy_bytes != size - len(tail) + place:
        raise BadInput(f"Backup '{path}' is damaged: its length is not that written.", field="file")
    return manifest


def is_sealed(path: Path) -> bool:
    """Whether a file ends as a backup does, whole or not."""
    try:
        with path.open("rb") as file:
            file.seek(max(path.stat().st_size - _LONGEST_MANIFEST, 0))
            return MARK in file.read()
    except OSError:
        return False


def copy_out(path: Path, manifest: Manifest, target: Path) -> None:
    """Write the copy that a sealed file holds to an empty file; the bytes are verified once more."""
    digest = hashlib.sha256()
    left = manifest.copy_bytes
    with path.open("rb") as source, target.open("wb") as file:
        while left and (chunk := source.read(min(_CHUNK, left))):
            digest.update(chunk)
            file.write(chunk)
            left -= len(chunk)
        file.flush()
        os.fsync(file.fileno())
    if digest.hexdigest() != manifest.copy_sha256:
        raise BadInput(f"Backup '{path}' changed while it was read; nothing was changed.", field="file")


def sync_folder(folder: Path) -> None:
    """Wait until the disk has the folder's names; systems that cannot do that keep them otherwise."""
    if not hasattr(os, "O_DIRECTORY"):
        return
    handle = os.open(folder, os.O_RDONLY | os.O_DIRECTORY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)

"""The sheet of a count or a delivery under way: every scan and correction is one line added to a file.

What was counted is read back by going through the lines, so a crash loses nothing that was answered, and a
scan that is sent twice counts once, because each carries an id of its own.
"""

import json
import os
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from kb.edits.ledger import MOST_PIECES
from kb.errors import BadInput, Conflict

SUFFIX = ".count"
MOST_EVENTS = 50_000
Event = dict[str, Any]


@dataclass(slots=True)
class CountedLine:
    """Pieces found of a part; the snapshot is the ledger's last line when its counting began."""

    part_id: int
    pieces: int
    snapshot: int
    has_label_only: bool = False


@dataclass(slots=True)
class SetAside:
    """A code that is no part, or several: how often it was scanned, why, and the parts it may be."""

    code: str
    times: int
    why: str
    choice_ids: tuple[int, ...]


@dataclass(slots=True)
class CountSheet:
    """A count or a delivery as it stands; ``lines`` and ``set_aside`` in the order last touched.

    ``mark`` is the place's last line of the ledger when a count began; None in older ones.
    ``order`` and ``note`` are a delivery's: the order that it answers, and its own paper.
    """

    location: str
    location_id: int
    began_at: str
    lines: dict[int, CountedLine] = field(default_factory=dict)
    set_aside: dict[str, SetAside] = field(default_factory=dict)
    posted: Event | None = None
    scan_ids: set[str] = field(default_factory=set)
    event_count: int = 0
    mark: int | None = None
    order: str | None = None
    note: str | None = None

    @property
    def pieces(self) -> int:
        """Pieces on all lines."""
        return sum(line.pieces for line in self.lines.values())

    @property
    def set_aside_scans(self) -> int:
        """Scans that count for no part."""
        return sum(item.times for item in self.set_aside.values())

    def build_counted(self) -> dict[int, tuple[int, int]]:
        """Pieces and snapshot by part, as the ledger is told."""
        return {line.part_id: (line.pieces, line.snapshot) for line in self.lines.values()}

    def apply(self, event: Mapping[str, Any]) -> None:
        """Go on by one event."""
        self.event_count += 1
        _APPLY[event["do"]](self, event)

    def _touch(self, part_id: int, snapshot: int) -> CountedLine:
        line = self.lines.pop(part_id, None) or CountedLine(part_id, 0, snapshot)
        self.lines[part_id] = line
        return line

    def _apply_scan(self, event: Mapping[str, Any]) -> None:
        if event["id"] in self.scan_ids:
            return
        self.scan_ids.add(event["id"])
        if event.get("part") is not None:
            is_new = event["part"] not in self.lines
            line = self._touch(event["part"], event["snapshot"])
            line.pieces += event["pieces"]
            line.has_label_only = event["pieces"] == 0 and (is_new or line.has_label_only)
            return
        code = event["code"]
        item = self.set_aside.pop(code, None) or SetAside(code, 0, event["why"], tuple(event["choices"]))
        item.times += 1
        self.set_aside[code] = item

    def _apply_set(self, event: Mapping[str, Any]) -> None:
        line = self._touch(event["part"], event.get("snapshot", 0))
        line.pieces = event["pieces"]
        line.has_label_only = False

    def _apply_step(self, event: Mapping[str, Any]) -> None:
        line = self.lines.get(event["part"])
        if line is not None:
            line.pieces = max(line.pieces + event["pieces"], 0)
            line.has_label_only = False

    def _apply_remove(self, event: Mapping[str, Any]) -> None:
        self.lines.pop(event["part"], None)

    def _apply_drop(self, event: Mapping[str, Any]) -> None:
        self.set_aside.pop(event["code"], None)

    def _apply_assign(self, event: Mapping[str, Any]) -> None:
        item = self.set_aside.pop(event["code"], None)
        if item is not None:
            self._touch(event["part"], event["snapshot"]).pieces += item.times

    def _apply_paper(self, event: Mapping[str, Any]) -> None:
        self.order, self.note = event["order"], event["note"]

    def _apply_posted(self, event: Mapping[str, Any]) -> None:
        self.posted = dict(event)


_APPLY = {
    "scan": CountSheet._apply_scan,
    "set": CountSheet._apply_set,
    "step": CountSheet._apply_step,
    "remove": CountSheet._apply_remove,
    "drop": CountSheet._apply_drop,
    "assign": CountSheet._apply_assign,
    "paper": CountSheet._apply_paper,
    "posted": CountSheet._apply_posted,
}


def begin_sheet(
    path: Path, *, location: str, location_id: int, began_at: str, mark: int | None = None
) -> None:
    """Write the first line of a new sheet."""
    said = {"do": "begin", "location": location, "location_id": location_id, "at": began_at}
    _write(path, said if mark is None else said | {"mark": mark})


def read_sheet(path: Path) -> CountSheet:
    """The count as its lines leave it; a line that a crash cut off was never answered and is left out."""
    events = [event for line in path.read_bytes().split(b"\n") if (event := _read_event(line)) is not None]
    if not events or events[0]["do"] != "begin":
        raise Conflict("This list was broken off before it began; start a new one.")
    begun = events[0]
    sheet = CountSheet(begun["location"], begun["location_id"], begun["at"], mark=begun.get("mark"))
    for event in events[1:]:
        sheet.apply(event)
    return sheet


def _read_event(line: bytes) -> Event | None:
    try:
        event: Event = json.loads(line)
    except ValueError:
        return None
    return event


def add_event(path: Path, sheet: CountSheet, event: Event) -> None:
    """Write an event down and go on by it.

    Raises:
        BadInput: the number of pieces is not usable.
        Conflict: the list was booked already, or has too many lines.
    """
    if sheet.posted is not None:
        raise Conflict("This list is booked already; start a new one.")
    if sheet.event_count >= MOST_EVENTS:
        raise Conflict(f"This list has {MOST_EVENTS} entries; book it and start a new one.")
    if not -MOST_PIECES <= event.get("pieces", 0) <= MOST_PIECES:
        raise BadInput(f"Write 0 to {MOST_PIECES} pieces.", field="pieces")
    _write(path, event)
    sheet.apply(event)


def _write(path: Path, event: Event) -> None:
    """One write to the end of the file, on a new line even where the last write was cut off."""
    line = ("\n" + json.dumps(event)).encode("ascii")
    handle = os.open(path, os.O_WRONLY | os.O_APPEND)
    try:
        os.write(handle, line)
    finally:
        os.close(handle)

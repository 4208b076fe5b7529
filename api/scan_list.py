"""What a scanner does to a list under way, for counting and receiving: scans, corrections, unknown codes.

Nothing is guessed: a code that is no part, or several, waits beside the list until a person says what it is.
"""

import re
import secrets
from collections.abc import Callable
from dataclasses import dataclass

from pydantic import BaseModel, Field
from sqlmodel import Session

from api.count_sheet import CountSheet, Event
from api.dependencies import MAX_TEXT, NO_NUL
from kb.edits.ledger import MOST_PIECES
from kb.errors import BadInput
from kb.lookups.parts import StoredPart, find_parts_by_id
from kb.lookups.scanned import Scanned, find_scanned

_PIECES_TYPED = re.compile(r"=\s*([0-9]{1,7})")


class ScanForm(BaseModel):
    """One scan; its id makes a repetition count once."""

    code: str = Field("", max_length=MAX_TEXT, pattern=NO_NUL)
    scan_id: str = Field("", max_length=64, pattern=r"^[A-Za-z0-9_-]*$")


class LineForm(BaseModel):
    """A correction of one line."""

    part: int
    do: str = Field("set", pattern="^(set|step|remove)$")
    step: int | None = Field(None, ge=-1, le=1)
    pieces: str = Field("", max_length=20, pattern=NO_NUL)


class AsideForm(BaseModel):
    """What becomes of a code that was set aside."""

    code: str = Field(max_length=MAX_TEXT, pattern=NO_NUL)
    part_id: int | None = None
    part: str = Field("", max_length=MAX_TEXT, pattern=NO_NUL)
    do: str = Field("assign", pattern="^(assign|drop)$")


@dataclass(frozen=True, slots=True)
class ScanList:
    """A list under way: how it stands, how an event is written down, and a part's snapshot of the ledger."""

    session: Session
    sheet: CountSheet
    add: Callable[[Event], None]
    find_snapshot: Callable[[int], int] = lambda _part_id: 0

    def take_scan(self, form: ScanForm) -> str:
        """Write a scan down; the sentence for the person."""
        code = form.code.strip()
        if not code:
            raise BadInput("Nothing was scanned; scan a code, or type a part number.", field="code")
        typed = _PIECES_TYPED.fullmatch(code)
        if typed:
            return self._set_last(int(typed[1]))
        scanned = find_scanned(self.session, code)
        scan_id = form.scan_id or secrets.token_urlsafe(12)
        if scan_id not in self.sheet.scan_ids:
            self.add(self._build_scan(scanned, scan_id))
        if scanned.part is None:
            return f"Set aside: {scanned.why}"
        hint = " Shelf label: now scan the pieces, or type = and their number." if scanned.is_label else ""
        return f"{self._say(scanned.part)}{hint}"

    def change_line(self, form: LineForm) -> None:
        """Correct the pieces of a line, or take it off the list."""
        if form.part in self.sheet.lines:
            self.add(_build_change(form))

    def settle_code(self, form: AsideForm) -> str:
        """Take the scans of a code for a part, or leave them out; the sentence for the person."""
        if form.do == "drop":
            self.add({"do": "drop", "code": form.code})
            return ""
        if form.code not in self.sheet.set_aside:
            return ""
        part = self._find_chosen(form)
        snapshot = self.find_snapshot(part.id)
        self.add({"do": "assign", "code": form.code, "part": part.id, "snapshot": snapshot})
        return self._say(part)

    def _set_last(self, pieces: int) -> str:
        if not self.sheet.lines:
            raise BadInput(
                "There is no line yet; scan a part first, then type = and its number.", field="code"
            )
        part_id = next(reversed(self.sheet.lines))
        self.add({"do": "set", "part": part_id, "pieces": pieces})
        return self._say(find_parts_by_id(self.session, [part_id])[part_id])

    def _build_scan(self, scanned: Scanned, scan_id: str) -> Event:
        event: Event = {"do": "scan", "id": scan_id, "code": scanned.code}
        if scanned.part is None:
            return event | {"why": scanned.why, "choices": [part.id for part in scanned.choices]}
        pieces = 0 if scanned.is_label else 1
        snapshot = self.find_snapshot(scanned.part.id)
        return event | {"part": scanned.part.id, "pieces": pieces, "snapshot": snapshot}

    def _find_chosen(self, form: AsideForm) -> StoredPart:
        if form.part_id is not None:
            found = find_parts_by_id(self.session, [form.part_id]).get(form.part_id)
            if found is None:
                raise BadInput("This part is not in the catalogue any more.", field="part")
            return found
        scanned = find_scanned(self.session, form.part)
        if scanned.part is None:
            raise BadInput(scanned.why, field="part")
        return scanned.part

    def _say(self, part: StoredPart) -> str:
        line = self.sheet.lines.get(part.id)
        return f"{part.ref.maker} {part.ref.part_number}: {line.pieces if line else 0}."


def _build_change(form: LineForm) -> Event:
    if form.step is not None:
        return {"do": "step", "part": form.part, "pieces": form.step}
    if form.do == "remove":
        return {"do": "remove", "part": form.part}
    text = form.pieces.strip()
    if not re.fullmatch(r"[0-9]{1,7}", text) or int(text) > MOST_PIECES:
        message = f"'{text[:20]}' is no number of pieces; write 0 to {MOST_PIECES} in digits."
        raise BadInput(message, field="pieces")
    return {"do": "set", "part": form.part, "pieces": int(text)}

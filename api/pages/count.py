"""Counting stock with a scanner: line by line, unknown codes set aside, booked as one batch.

The page works by its forms alone; with its script, scans are queued and sent one by one, so that a fast hand
loses none. Every step is kept on the server, so a closed browser loses nothing either.
"""

import json
import secrets
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, datetime
from threading import Lock
from typing import Annotated, Any

from fastapi import APIRouter, Depends, Form, Query, Request
from sqlmodel import Session
from starlette.responses import RedirectResponse, Response

from api.count_rest import find_rest
from api.count_sheet import SUFFIX, CountSheet, Event, add_event, begin_sheet, read_sheet
from api.dependencies import MAX_TEXT, NO_NUL, Reader, name_caller
from api.pages.templates import render
from api.problems import Problem, describe_error
from api.scan_list import AsideForm, LineForm, ScanForm, ScanList
from api.waiting_room import WaitingRoom
from kb.database import open_writer
from kb.edits.count_batch import add_count_batch
from kb.edits.idempotency import add_request, build_request, change_answer
from kb.edits.ledger import Entry
from kb.errors import BadInput, Conflict, KbError
from kb.lookups.count_differences import Counted, find_last_movement, list_differences, list_not_counted
from kb.lookups.locations import get_location, list_locations
from kb.lookups.parts import StoredPart, find_parts_by_id

router = APIRouter(prefix="/count", include_in_schema=False)

SHOWN_LINES = 60
SHOWN_NOT_COUNTED = 40
_lock = Lock()


@dataclass(frozen=True, slots=True)
class OpenCount:
    """A waiting count and its file."""

    token: str
    room: WaitingRoom

    @property
    def address(self) -> str:
        """Where its page is."""
        return f"/count/{self.token}"

    def read(self) -> CountSheet:
        """The count as it stands now."""
        return read_sheet(self.room.get_path(self.token, SUFFIX))

    def add(self, sheet: CountSheet, event: Event) -> None:
        """Go on by one event."""
        add_event(self.room.get_path(self.token, SUFFIX), sheet, event)


def find_count(request: Request, token: str) -> OpenCount:
    """The count that the address names."""
    return OpenCount(token, request.app.state.counts)


Count = Annotated[OpenCount, Depends(find_count)]


@router.get("")
def show_counts(request: Request, session: Reader) -> Response:
    """Where to count, and counts that are under way."""
    return _render_start(request, session)


def _render_start(request: Request, session: Session, problem: Problem | None = None) -> Response:
    room: WaitingRoom = request.app.state.counts
    counts = [(token, read_sheet(path)) for token, path in room.list_tokens(SUFFIX) if path.stat().st_size]
    return render(
        "count_start.html",
        status=problem.code if problem else 200,
        locations=list_locations(session),
        counts=[(token, sheet) for token, sheet in counts if sheet.posted is None],
        booked=[(token, sheet) for token, sheet in counts if sheet.posted is not None],
        problem=problem,
    )


@router.post("")
def begin_count(
    request: Request,
    session: Reader,
    location: Annotated[str, Form(max_length=MAX_TEXT, pattern=NO_NUL)] = "",
) -> Response:
    """Begin a count at a location."""
    try:
        place = get_location(session, location)
    except KbError as error:
        return _render_start(request, session, describe_error(error))
    room: WaitingRoom = request.app.state.counts
    token, path = room.add(SUFFIX)
    now = datetime.now(UTC).isoformat(timespec="seconds")
    mark = find_last_movement(session, place.id)
    begin_sheet(path, location=place.location, location_id=place.id, began_at=now, mark=mark)
    return RedirectResponse(f"/count/{token}", status_code=303)


@router.get("/{token}")
def show_count(session: Reader, count: Count) -> Response:
    """The scan field, the lines and what is set aside; or what was booked."""
    sheet = count.read()
    if sheet.posted is not None:
        return _render_booked(session, count, sheet)
    return _render_count(session, count, sheet)


@router.post("/{token}/scans")
def post_scan(request: Request, session: Reader, count: Count, form: Annotated[ScanForm, Form()]) -> Response:
    """Count what was scanned, or set it aside."""
    said, problem = "", None
    with _lock:
        sheet = count.read()
        try:
            said = _open_list(session, count, sheet).take_scan(form)
        except BadInput as error:
            problem = describe_error(error)
    return _answer(request, session, count, sheet=sheet, said=said, problem=problem)


def _open_list(session: Session, count: OpenCount, sheet: CountSheet) -> ScanList:
    return ScanList(
        session,
        sheet,
        lambda event: count.add(sheet, event),
        lambda part_id: find_last_movement(session, sheet.location_id, part_id),
    )


@router.post("/{token}/lines")
def change_line(
    request: Request, session: Reader, count: Count, form: Annotated[LineForm, Form()]
) -> Response:
    """Correct the pieces of a line, or take it off the list."""
    problem = None
    with _lock:
        sheet = count.read()
        try:
            _open_list(session, count, sheet).change_line(form)
        except BadInput as error:
            problem = describe_error(error)
    return _answer(request, session, count, sheet=sheet, problem=problem)


@router.post("/{token}/set-aside")
def settle_code(
    request: Request, session: Reader, count: Count, form: Annotated[AsideForm, Form()]
) -> Response:
    """Count the scans of a code for a part, or leave them out."""
    problem, said = None, ""
    with _lock:
        sheet = count.read()
        try:
            said = _open_list(session, count, sheet).settle_code(form)
        except KbError as error:
            problem = describe_error(error)
    return _answer(request, session, count, sheet=sheet, said=said, problem=problem)


@router.get("/{token}/review")
def show_review(session: Reader, count: Count, rest: Annotated[str, Query(max_length=10)] = "") -> Response:
    """What the count would change before it is booked; with ``rest=none`` also what was not scanned."""
    sheet = count.read()
    if sheet.posted is not None:
        return RedirectResponse(count.address, status_code=303)
    return _render_review(session, count, sheet, is_rest_none=rest == "none")


def _render_review(
    session: Session,
    count: OpenCount,
    sheet: CountSheet,
    *,
    is_rest_none: bool,
    problem: Problem | None = None,
) -> Response:
    rest = find_rest(session, sheet)
    shown = rest if is_rest_none else None
    counted = {line.part_id: Counted(line.pieces, line.snapshot) for line in sheet.lines.values()}
    differences = list_differences(session, sheet.location_id, counted)
    left, left_count = list_not_counted(session, sheet.location_id, counted, limit=SHOWN_NOT_COUNTED)
    of_rest = (*shown.none, *shown.kept) if shown else ()
    parts = _find_parts(session, [*counted, *(part_id for part_id, _ in (*left, *of_rest))])
    differences.sort(key=lambda line: (line.difference == 0, -abs(line.difference)))
    return render(
        "count_review.html",
        status=problem.code if problem else 200,
        count=count,
        sheet=sheet,
        differences=differences,
        parts=parts,
        left=left,
        left_count=left_count,
        may_be_none=rest is not None,
        rest=shown,
        problem=problem,
    )


@router.post("/{token}/post")
def post_count(
    request: Request,
    session: Reader,
    count: Count,
    seen: Annotated[int, Form(ge=0)] = 0,
    rest: Annotated[str, Form(max_length=64)] = "",
) -> Response:
    """Book the count; booking it again books nothing. ``rest``: what was shown as not scanned and none."""
    with _lock:
        sheet = count.read()
        if sheet.posted is not None:
            return RedirectResponse(count.address, status_code=303)
        try:
            if seen != sheet.event_count:
                raise Conflict("Something was scanned or corrected since this preview; look at it again.")
            _book(request, count, sheet, rest=rest)
        except (Conflict, BadInput) as error:
            problem = describe_error(error)
            return _render_review(session, count, sheet, is_rest_none=bool(rest), problem=problem)
    return RedirectResponse(count.address, status_code=303)


def _book(request: Request, count: OpenCount, sheet: CountSheet, *, rest: str) -> None:
    """Post to the ledger under the key of this count, then close the sheet."""
    now = datetime.now(UTC)
    counted = sheet.build_counted()
    caller = name_caller(request) or ""
    body = json.dumps([sheet.location_id, sorted(counted.items()), rest]).encode()
    key = build_request(f"count-{count.token}", caller, "POST /count", body=body)
    note = f"count of {sheet.began_at[:16].replace('T', ' ')}"
    with open_writer(request.app.state.engine) as writer:
        stored = add_request(writer, key, now=now)
        if stored is None:
            if rest:
                counted |= _list_none(writer, sheet, rest)
            posted = add_count_batch(writer, sheet.location_id, counted, Entry(now, caller or None, note))
            lines = [[part_id, line.quantity, line.on_hand] for part_id, line in posted.items()]
            answer = json.dumps({"at": now.isoformat(timespec="seconds"), "lines": lines})
            change_answer(writer, key, status=200, body=answer)
        else:
            # Booked before, but the server stopped before the sheet was closed.
            answer = stored.body or '{"at": "", "lines": []}'
    count.add(sheet, {"do": "posted", **json.loads(answer)})


def _list_none(session: Session, sheet: CountSheet, seen: str) -> dict[int, tuple[int, int]]:
    """Parts that were not scanned and are none, as they were shown."""
    rest = find_rest(session, sheet)
    if rest is None or rest.digest != seen:
        raise Conflict("Parts that were not scanned have moved since this preview; look at it again.")
    return rest.build_counted()


@router.post("/{token}/discard")
def discard_count(count: Count) -> Response:
    """Throw a count away; nothing was booked."""
    with _lock:
        count.read()
        count.room.remove(count.token)
    return RedirectResponse("/count", status_code=303)


def _answer(  # noqa: PLR0913 - what a page and its fragment show
    request: Request,
    session: Session,
    count: OpenCount,
    *,
    sheet: CountSheet,
    said: str = "",
    problem: Problem | None = None,
) -> Response:
    """The changed part for the page's script; for a form, the page, or the way back to it."""
    if request.headers.get("x-part-of-page"):
        return _render_count(session, count, sheet, said=said, problem=problem, name="count_lines.html")
    if problem is None:
        return RedirectResponse(count.address, status_code=303)
    return _render_count(session, count, sheet, problem=problem)


def _render_count(  # noqa: PLR0913
    session: Session,
    count: OpenCount,
    sheet: CountSheet,
    *,
    said: str = "",
    problem: Problem | None = None,
    name: str = "count.html",
) -> Response:
    lines = list(reversed(sheet.lines.values()))
    shown = lines[:SHOWN_LINES]
    aside = list(reversed(sheet.set_aside.values()))
    choice_ids = [part_id for item in aside for part_id in item.choice_ids]
    return render(
        name,
        status=problem.code if problem and name == "count.html" else 200,
        count=count,
        sheet=sheet,
        lines=shown,
        hidden_count=len(lines) - len(shown),
        aside=aside,
        parts=_find_parts(session, [*(line.part_id for line in shown), *choice_ids]),
        scan_id=secrets.token_urlsafe(12),
        said=said or (f"{sheet.pieces} pieces on {len(lines)} lines." if lines else ""),
        problem=problem,
    )


def _render_booked(session: Session, count: OpenCount, sheet: CountSheet) -> Response:
    posted: dict[str, Any] = sheet.posted or {}
    lines = sorted(posted["lines"], key=lambda line: (line[1] == 0, -abs(line[1])))
    return render(
        "count_booked.html",
        count=count,
        sheet=sheet,
        lines=lines,
        changed_count=sum(1 for line in lines if line[1]),
        booked_at=posted["at"],
        parts=_find_parts(session, [line[0] for line in lines]),
    )


def _find_parts(session: Session, part_ids: Iterable[int]) -> dict[int, StoredPart]:
    return find_parts_by_id(session, set(part_ids))

"""Receiving a delivery with a scanner, with an order or without: line by line, booked as one batch.

Works like counting: every scan is kept on the server, unknown codes are set aside, and nothing is booked
before a person says so.
"""

import json
import secrets
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, date, datetime
from threading import Lock
from typing import Annotated, Any

from fastapi import APIRouter, Depends, Form, Request
from pydantic import BaseModel, Field
from sqlmodel import Session
from starlette.responses import RedirectResponse, Response

from api.count_sheet import CountSheet, Event, add_event, begin_sheet, read_sheet
from api.dependencies import MAX_TEXT, NO_NUL, Reader, name_caller
from api.pages.templates import render
from api.problems import Problem, describe_error
from api.scan_list import AsideForm, LineForm, ScanForm, ScanList
from api.waiting_room import WaitingRoom
from kb.database import open_writer
from kb.edits.idempotency import add_request, build_request, change_answer
from kb.edits.ledger import Entry
from kb.edits.receipt_batch import add_receipt_batch
from kb.errors import Conflict, KbError
from kb.lookups.locations import find_main_location, get_location, list_locations
from kb.lookups.orders import get_order, list_orders
from kb.lookups.parts import find_parts_by_id

router = APIRouter(prefix="/receive", include_in_schema=False)

SUFFIX = ".delivery"
SHOWN_LINES = 60
_lock = Lock()


class BeginForm(BaseModel):
    """Where the delivery goes: an order names its own place."""

    location: str = Field("", max_length=MAX_TEXT, pattern=NO_NUL)
    order: str = Field("", max_length=40, pattern=NO_NUL)
    note: str = Field("", max_length=200, pattern=NO_NUL)


@dataclass(frozen=True, slots=True)
class OpenDelivery:
    """A delivery under way and its file."""

    token: str
    room: WaitingRoom

    @property
    def address(self) -> str:
        """Where its page is."""
        return f"/receive/{self.token}"

    def read(self) -> CountSheet:
        """The delivery as it stands now."""
        return read_sheet(self.room.get_path(self.token, SUFFIX))

    def add(self, sheet: CountSheet, event: Event) -> None:
        """Go on by one event."""
        add_event(self.room.get_path(self.token, SUFFIX), sheet, event)


@dataclass(frozen=True, slots=True)
class Told:
    """What is told above the lines: a sentence, or what was wrong."""

    said: str = ""
    problem: Problem | None = None


def find_delivery(request: Request, token: str) -> OpenDelivery:
    """The delivery that the address names."""
    return OpenDelivery(token, request.app.state.deliveries)


Delivery = Annotated[OpenDelivery, Depends(find_delivery)]


@router.get("")
def show_deliveries(request: Request, session: Reader, order: str = "") -> Response:
    """Where a delivery goes, and deliveries that are under way."""
    return _render_start(request, session, order=order[:40])


def _render_start(
    request: Request, session: Session, *, order: str = "", problem: Problem | None = None
) -> Response:
    room: WaitingRoom = request.app.state.deliveries
    sheets = [(token, read_sheet(path)) for token, path in room.list_tokens(SUFFIX) if path.stat().st_size]
    return render(
        "receive_start.html",
        status=problem.code if problem else 200,
        locations=list_locations(session),
        main=find_main_location(session),
        orders=list_orders(session, date.today(), states=["sent"]),  # noqa: DTZ011 - the shop's own day
        chosen=order,
        under_way=[(token, sheet) for token, sheet in sheets if sheet.posted is None],
        booked=[(token, sheet) for token, sheet in sheets if sheet.posted is not None],
        problem=problem,
    )


@router.post("")
def begin_delivery(request: Request, session: Reader, form: Annotated[BeginForm, Form()]) -> Response:
    """Begin to receive a delivery."""
    try:
        name = form.location
        if form.order:
            order = get_order(session, form.order, date.today())  # noqa: DTZ011
            if order.state != "sent":
                raise Conflict(f"Order '{order.order_name}' is {order.state}; mark it as sent first.")
            name = order.location
        place = get_location(session, name)
    except KbError as error:
        return _render_start(request, session, order=form.order, problem=describe_error(error))
    token, path = request.app.state.deliveries.add(SUFFIX)
    now = datetime.now(UTC).isoformat(timespec="seconds")
    begin_sheet(path, location=place.location, location_id=place.id, began_at=now)
    paper = {"do": "paper", "order": form.order or None, "note": form.note.strip() or None}
    add_event(path, read_sheet(path), paper)
    return RedirectResponse(f"/receive/{token}", status_code=303)


@router.get("/{token}")
def show_delivery(session: Reader, delivery: Delivery) -> Response:
    """The scan field, the lines and what is set aside; or what was booked."""
    sheet = delivery.read()
    if sheet.posted is not None:
        return _render_booked(session, sheet)
    return _render(session, delivery, sheet, name="receive.html")


@router.post("/{token}/scans")
def post_scan(
    request: Request, session: Reader, delivery: Delivery, form: Annotated[ScanForm, Form()]
) -> Response:
    """Take a scan onto the list, or set it aside."""
    return _change(request, session, delivery, lambda scans: scans.take_scan(form))


@router.post("/{token}/lines")
def change_line(
    request: Request, session: Reader, delivery: Delivery, form: Annotated[LineForm, Form()]
) -> Response:
    """Correct the pieces of a line, or take it off the list."""
    return _change(request, session, delivery, lambda scans: scans.change_line(form) or "")


@router.post("/{token}/set-aside")
def settle_code(
    request: Request, session: Reader, delivery: Delivery, form: Annotated[AsideForm, Form()]
) -> Response:
    """Take the scans of a code for a part, or leave them out."""
    return _change(request, session, delivery, lambda scans: scans.settle_code(form))


def _change(
    request: Request, session: Session, delivery: OpenDelivery, work: Callable[[ScanList], str]
) -> Response:
    told = Told()
    with _lock:
        sheet = delivery.read()
        try:
            told = Told(work(ScanList(session, sheet, lambda event: delivery.add(sheet, event))))
        except KbError as error:
            told = Told(problem=describe_error(error))
    return _answer(request, session, delivery, sheet, told=told)


@router.post("/{token}/post")
def post_delivery(
    request: Request,
    session: Reader,
    delivery: Delivery,
    seen: Annotated[int, Form(ge=0)] = 0,
    drop: Annotated[str, Form(pattern="^(order)?$")] = "",
) -> Response:
    """Book the delivery, with ``drop`` without its order; booking it again books nothing."""
    with _lock:
        sheet = delivery.read()
        if sheet.posted is None:
            try:
                if seen != sheet.event_count:
                    raise Conflict("Something was scanned or corrected meanwhile; look at the list again.")
                if drop:
                    delivery.add(sheet, {"do": "paper", "order": None, "note": sheet.note})
                _book(request, delivery, sheet)
            except KbError as error:
                told = Told(problem=describe_error(error))
                return _answer(request, session, delivery, sheet, told=told)
    return RedirectResponse(delivery.address, status_code=303)


def _book(request: Request, delivery: OpenDelivery, sheet: CountSheet) -> None:
    """Post to the ledger under the key of this delivery, then close the list."""
    now, caller = datetime.now(UTC), name_caller(request)
    pieces = {line.part_id: line.pieces for line in sheet.lines.values() if line.pieces > 0}
    body = json.dumps([sheet.location_id, sheet.order, sorted(pieces.items())]).encode()
    key = build_request(f"delivery-{delivery.token}", caller or "", "POST /receive", body=body)
    note = sheet.note or f"delivery of {sheet.began_at[:16].replace('T', ' ')}"
    with open_writer(request.app.state.engine) as writer:
        stored = add_request(writer, key, now=now)
        if stored is None:
            entry = Entry(now, caller, note)
            received = add_receipt_batch(
                writer, sheet.location_id, pieces, entry=entry, order_name=sheet.order
            )
            lines = [[line.part_id, line.for_order, line.beyond, line.on_hand] for line in received]
            answer = json.dumps({"at": now.isoformat(timespec="seconds"), "lines": lines})
            change_answer(writer, key, status=200, body=answer)
        else:
            # Booked before, but the server stopped before the list was closed.
            answer = stored.body or '{"at": "", "lines": []}'
    delivery.add(sheet, {"do": "posted", **json.loads(answer)})


@router.post("/{token}/discard")
def discard_delivery(delivery: Delivery) -> Response:
    """Throw a list away; nothing was booked."""
    with _lock:
        delivery.read()
        delivery.room.remove(delivery.token)
    return RedirectResponse("/receive", status_code=303)


def _answer(
    request: Request, session: Session, delivery: OpenDelivery, sheet: CountSheet, *, told: Told
) -> Response:
    """The changed part for the page's script; for a form, the page, or the way back to it."""
    if request.headers.get("x-part-of-page"):
        return _render(session, delivery, sheet, told=told, name="receive_lines.html")
    if told.problem is None:
        return RedirectResponse(delivery.address, status_code=303)
    return _render(session, delivery, sheet, told=told, name="receive.html")


_NOTHING_TOLD = Told()


def _render(
    session: Session, delivery: OpenDelivery, sheet: CountSheet, *, name: str, told: Told = _NOTHING_TOLD
) -> Response:
    lines = list(reversed(sheet.lines.values()))
    aside = list(reversed(sheet.set_aside.values()))
    expected = _list_expected(session, sheet)
    choice_ids = [part_id for item in aside for part_id in item.choice_ids]
    booked = [line for line in lines if line.pieces > 0]
    problem = told.problem
    return render(
        name,
        status=problem.code if problem and name == "receive.html" else 200,
        delivery=delivery,
        sheet=sheet,
        lines=lines[:SHOWN_LINES],
        hidden_count=max(len(lines) - SHOWN_LINES, 0),
        aside=aside,
        expected=expected,
        waiting={part_id: n for part_id, n in expected.items() if part_id not in sheet.lines},
        booked_count=len(booked),
        parts=find_parts_by_id(
            session, {*(line.part_id for line in lines[:SHOWN_LINES]), *choice_ids, *expected}
        ),
        scan_id=secrets.token_urlsafe(12),
        said=told.said
        or (f"{_say_count(sheet.pieces, 'piece')} on {_say_count(len(lines), 'line')}." if lines else ""),
        problem=problem,
    )


def _say_count(count: int, word: str) -> str:
    return f"{count} {word}" if count == 1 else f"{count} {word}s"


def _list_expected(session: Session, sheet: CountSheet) -> dict[int, int]:
    """Pieces by part that the order still waits for."""
    if sheet.order is None:
        return {}
    order = get_order(session, sheet.order, date.today())  # noqa: DTZ011
    return {line.part_id: line.open_pieces for line in order.lines if line.open_pieces > 0}


def _render_booked(session: Session, sheet: CountSheet) -> Response:
    posted: dict[str, Any] = sheet.posted or {}
    return render(
        "receive_booked.html",
        sheet=sheet,
        lines=posted["lines"],
        pieces=sum(line[1] + line[2] for line in posted["lines"]),
        booked_at=posted["at"],
        parts=find_parts_by_id(session, {line[0] for line in posted["lines"]}),
    )

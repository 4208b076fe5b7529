"""A backtest asked for over the web: bounded in work, and one at a time, so that the counter stays quick."""

from collections.abc import Iterator
from contextlib import contextmanager
from threading import BoundedSemaphore

from sqlmodel import Session
from starlette.exceptions import HTTPException

from kb.errors import BadInput
from kb.lookups.backtest import BacktestAnswer, play_backtest
from kb.lookups.low_stock import LowStockQuestion
from kb.lookups.stock import count_asked_parts

# Measured on one core: 275 parts take 0.45 s of processor time, 2,410 take 3.0 s.
MOST_PARTS = 3_000
RETRY_SECONDS = 5
_turn = BoundedSemaphore(1)


def play_bounded(
    session: Session, question: LowStockQuestion, *, lead_months: int | None = None
) -> BacktestAnswer:
    """The backtest, where it is small enough for the web and none is running.

    Raises:
        BadInput: the history is too short, or the shelf too large.
        HTTPException: 429 while another one runs.
    """
    parts = count_asked_parts(session)
    if parts > MOST_PARTS:
        message = (
            f"{parts} parts were asked for in the past, and a page plays at most {MOST_PARTS}; "
            "play it on the command line with: counterhand backtest --plot backtest.svg."
        )
        raise BadInput(message, field="location")
    with take_turn():
        return play_backtest(session, question, lead_months=lead_months)


@contextmanager
def take_turn() -> Iterator[None]:
    """The only turn there is.

    Raises:
        HTTPException: 429, somebody else has it.
    """
    if not _turn.acquire(blocking=False):
        raise HTTPException(
            429,
            "Another backtest is being played; one goes at a time. Try again in a moment.",
            headers={"Retry-After": str(RETRY_SECONDS)},
        )
    try:
        yield
    finally:
        _turn.release()

"""The bench book: machines, their readings over time, and writing one down."""

from datetime import UTC, datetime
from typing import Annotated, Any

from fastapi import APIRouter, Header, Response

from api.answers.problem import READ_PROBLEMS, WRITE_PROBLEMS
from api.answers.readings import BookAnswer, MachineListAnswer, ReadingPost, shape_book, shape_machine
from api.bench_book import ReadingLine, write_reading
from api.dependencies import MAX_PAGE, PageLimit, PageMark, PathText, Reader, Writer
from api.marks import Following, open_mark, seal_mark
from kb.lookups.readings import list_machines, read_book
from kb.rules.machine_label import fold_label

router = APIRouter(prefix="/api/machines", tags=["bench"], responses=READ_PROBLEMS)

RequestKey = Annotated[str | None, Header(alias="Idempotency-Key", min_length=1, max_length=255)]


@router.get("", response_model=MachineListAnswer)
def get_machines(
    following: Following, session: Reader, limit: PageLimit = MAX_PAGE, after: PageMark = None
) -> dict[str, Any]:
    """Machines that something is written down about, by label, a page at a time."""
    found = list_machines(session, after=open_mark(after), limit=limit + 1)
    shown = found[:limit]
    mark = seal_mark(fold_label(shown[-1].label)) if len(found) > limit else None
    following.link(mark)
    return {"machines": [shape_machine(machine) for machine in shown], "after": mark}


@router.get("/{machine}", response_model=BookAnswer)
def get_book(session: Reader, machine: PathText) -> dict[str, Any]:
    """Readings of a machine, what is left of each part, and when to measure again."""
    return shape_book(read_book(session, machine))


@router.post("/{machine}/readings", response_model=BookAnswer, status_code=201, responses=WRITE_PROBLEMS)
def post_reading(
    session: Writer, response: Response, machine: PathText, post: ReadingPost, key: RequestKey = None
) -> dict[str, Any]:
    """Write a reading down: 201, or 200 when the very line stands there already."""
    line = ReadingLine(
        position=post.position,
        quantity=post.quantity,
        value=None if post.value is None else f"{post.value:.9f}",
        odometer=None if post.odometer_km is None else f"{post.odometer_km:.6f}",
        taken_on=post.taken_on,
        replaced=post.replaced,
        engine=post.engine,
        note=post.note,
        key=key,
    )
    added = write_reading(session, machine, line, now=datetime.now(UTC))
    if not added:
        response.status_code = 200
    return shape_book(read_book(session, machine)) | {"added": added}

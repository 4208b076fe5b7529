"""What endpoints are given: a reader's or a writer's session, and texts that were checked for length.

A session's block ends before the answer is sent (``scope="function"``), so that what was acknowledged
is committed.
"""

from collections.abc import Iterator
from typing import Annotated
from urllib.parse import unquote

from fastapi import Depends, Path, Query, Request
from sqlmodel import Session

from api.marks import LONGEST_MARK
from kb.database import open_reader, open_writer
from kb.lookups.shelf import hide_costs
from kb.migrate import check_schema
from kb.rules.access import is_allowed
from kb.terms import Role

MAX_TEXT = 200
MAX_PAGE = 200
NO_NUL = r"^[^\x00]*$"


def read_session(request: Request) -> Iterator[Session]:
    """A session that reads; prices and supplier terms only for those who may see them."""
    with open_reader(request.app.state.engine) as session:
        if not is_allowed(request.state.role or Role.READ, Role.STOCK):
            hide_costs(session)
        yield session


def write_session(request: Request) -> Iterator[Session]:
    """A session that writes and commits when the endpoint ends well."""
    with open_writer(request.app.state.engine) as session:
        yield session


def name_caller(request: Request) -> str | None:
    """The owner of the key or sign-in; None where none is needed."""
    return getattr(request.state, "caller", "") or None


def need_schema(request: Request) -> None:
    """Refuse to go on over a database that this program cannot work with."""
    check_schema(request.app.state.engine)


Reader = Annotated[Session, Depends(read_session, scope="function")]
Writer = Annotated[Session, Depends(write_session, scope="function")]

AskedText = Annotated[str, Query(min_length=1, max_length=MAX_TEXT, pattern=NO_NUL)]
OptionalText = Annotated[str | None, Query(max_length=MAX_TEXT, pattern=NO_NUL)]
PageLimit = Annotated[int, Query(ge=1, le=MAX_PAGE)]
PageMark = Annotated[str | None, Query(max_length=LONGEST_MARK, pattern=NO_NUL)]
PathText = Annotated[str, Path(min_length=1, max_length=MAX_TEXT, pattern=NO_NUL)]


def read_maker(request: Request, maker: PathText) -> str:
    """The maker in an address ``.../{maker}/{part_number:path}``, where ``%2F`` is a slash of the name.

    It is taken from the address as sent: decoded, a slash in the name looks like one behind it.
    """
    place = request.scope["route"].path.split("/").index("{maker}")
    sent = request.scope.get("raw_path", b"").partition(b"?")[0].decode("ascii", "replace").split("/")
    return unquote(sent[place]) if len(sent) > place else maker


def read_part_number(request: Request, maker: PathText, part_number: PathText) -> str:
    """The part number in such an address: all that stands behind the maker, slashes included."""
    return f"{maker}/{part_number}".removeprefix(f"{read_maker(request, maker)}/")


MakerInPath = Annotated[str, Depends(read_maker)]
PartNumberInPath = Annotated[str, Depends(read_part_number)]

"""Whether the service can answer."""

from fastapi import APIRouter, Depends

from api.answers.problem import READ_PROBLEMS
from api.answers.shape import Answer
from api.dependencies import need_schema

router = APIRouter(tags=["health"], responses={503: READ_PROBLEMS[503], 500: READ_PROBLEMS[500]})


class HealthAnswer(Answer):
    """The service is up and its database has the tables that it works with."""

    status: str


@router.get("/healthz", response_model=HealthAnswer, dependencies=[Depends(need_schema)])
def get_health() -> dict[str, str]:
    """200 when the database answers and fits this program, else 503 with the reason."""
    return {"status": "ok"}

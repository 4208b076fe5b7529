"""The web service: the one place that wires routes, pages, problems and middleware to a database."""

from collections.abc import Collection
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path

from fastapi import FastAPI
from fastapi.staticfiles import StaticFiles
from sqlalchemy import Engine

from api.access import AccessControl
from api.answers.problem import add_problem_schema
from api.cross_site import CrossSiteCheck
from api.figures import FigureCount, Figures
from api.import_runner import ImportRunner
from api.middleware import MAX_BODY_BYTES, BodyLimit, EntityTags, HeadAnswers, HostCheck, RequestShell
from api.once import KeysUnderWay
from api.pages import backtest as backtest_pages
from api.pages import bench, count, counter, import_batches, sign_in, words
from api.pages import card as card_pages
from api.pages import decisions as decision_pages
from api.pages import engines as engine_pages
from api.pages import find as find_pages
from api.pages import gauge as gauge_pages
from api.pages import imports as import_pages
from api.pages import jobs as job_pages
from api.pages import labels as label_pages
from api.pages import orders as order_pages
from api.pages import part_stock as part_stock_pages
from api.pages import parts as part_pages
from api.pages import readings as reading_pages
from api.pages import receive as receive_pages
from api.pages import stock as stock_pages
from api.pages import suppliers as supplier_pages
from api.pages import tell_apart as tell_apart_pages
from api.pages import trace as trace_pages
from api.pages.templates import render_problem
from api.problems import register_problem_handlers
from api.routes import (
    card,
    engines,
    find,
    fit,
    gauge,
    health,
    jobs,
    metrics,
    orders,
    parts,
    read,
    readings,
    stock,
    suppliers,
    tell_apart,
    trace,
)
from api.routes import imports as import_routes
from api.throttle import Throttle
from api.waiting_import import ImportDesk
from api.waiting_room import WaitingRoom

ROUTERS = (
    fit.router,
    card.router,
    gauge.router,
    engines.router,  # behind those whose addresses begin like that of an engine with slashes
    parts.router,
    find.router,
    read.router,
    tell_apart.router,
    trace.router,
    readings.router,
    stock.router,
    orders.router,
    suppliers.router,
    jobs.router,
    import_routes.router,
    health.router,
    metrics.router,
    sign_in.router,
    counter.router,
    count.router,
    import_pages.router,
    import_batches.router,
    engine_pages.router,
    find_pages.router,
    words.router,
    part_pages.router,
    stock_pages.router,
    backtest_pages.router,
    decision_pages.router,
    part_stock_pages.router,
    order_pages.router,
    receive_pages.router,
    supplier_pages.router,
    job_pages.router,
    label_pages.router,
    bench.router,
    card_pages.router,
    gauge_pages.router,
    tell_apart_pages.router,
    trace_pages.router,
    reading_pages.router,
)
COUNT_KEPT_SECONDS = 30 * 86_400.0
UPLOAD_KEPT_SECONDS = 86_400.0
DESCRIPTION = (
    "Does this part fit this engine? Numbers with their sources, cautions as data. "
    "The maker's manual for the exact model, local rules and licensed practice decide over every answer."
)


def create_app(
    engine: Engine,
    *,
    allowed_hosts: Collection[str] = (),
    max_body_bytes: int = MAX_BODY_BYTES,
    always_needs_key: bool = False,
    waiting_folder: Path | None = None,
) -> FastAPI:
    """The application over a database.

    Args:
        engine: the database; the caller opens and disposes it.
        allowed_hosts: host names, besides those of the loopback address, under which it may be asked.
        max_body_bytes: largest request body.
        always_needs_key: ask for an access key even before the first one is given out.
        waiting_folder: where counts under way and uploaded sheets wait; None: a folder for this run only.
    """
    app = FastAPI(
        title="Counterhand",
        description=DESCRIPTION,
        version=_get_version(),
        openapi_url="/api/openapi.json",
        docs_url=None,  # its pages load scripts from other hosts
        redoc_url=None,
        redirect_slashes=False,
    )
    app.state.engine = engine
    app.state.throttle = Throttle()
    app.state.figures = Figures()
    app.state.keys_under_way = KeysUnderWay()
    app.state.import_runner = ImportRunner(engine)
    app.state.counts = WaitingRoom(
        waiting_folder and waiting_folder / "counts", keep_seconds=COUNT_KEPT_SECONDS, what="count"
    )
    app.state.deliveries = WaitingRoom(
        waiting_folder and waiting_folder / "deliveries", keep_seconds=COUNT_KEPT_SECONDS, what="delivery"
    )
    uploads = WaitingRoom(
        waiting_folder and waiting_folder / "uploads", keep_seconds=UPLOAD_KEPT_SECONDS, what="uploaded file"
    )
    app.state.imports = ImportDesk(app.state.import_runner, uploads)
    for router in ROUTERS:
        app.include_router(router)
    app.mount("/static", StaticFiles(packages=[("api", "static")]), name="static")
    register_problem_handlers(app, render_problem)
    add_problem_schema(app)
    # The last one added is the outermost.
    app.add_middleware(EntityTags)
    app.add_middleware(HeadAnswers)
    app.add_middleware(BodyLimit, max_bytes=max_body_bytes)
    app.add_middleware(AccessControl, engine=engine, throttle=app.state.throttle, always=always_needs_key)
    app.add_middleware(CrossSiteCheck, hosts=allowed_hosts)
    app.add_middleware(HostCheck, hosts=allowed_hosts)
    app.add_middleware(RequestShell)
    app.add_middleware(FigureCount, figures=app.state.figures)
    return app


def _get_version() -> str:
    try:
        return version("counterhand")
    except PackageNotFoundError:  # run from the source folder
        return "0"

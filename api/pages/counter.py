"""The counter page: which engine, what is in your hand, and whether it fits. One address per question."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Annotated
from urllib.parse import urlencode

from fastapi import APIRouter, Query, Request
from sqlmodel import Session
from starlette.responses import RedirectResponse, Response

from api.dependencies import MAX_TEXT, NO_NUL, Reader
from api.drawings.belt_drive import draw_belt_drive
from api.drawings.picture import Picture
from api.pages.sizes import SIZE_FORMS, build_asked, spell_belt_reading
from api.pages.templates import render
from api.problems import describe_error
from kb.errors import KbError, NotFound
from kb.lookups.belt_drive import BeltDrive, find_belt_drive
from kb.lookups.engines import EngineRef, get_engine, list_engines
from kb.lookups.fit import FitQuestion, does_part_fit
from kb.lookups.search.find import find_matches
from kb.lookups.search.worth_a_look import WorthALook, list_worth_a_look_beside
from kb.lookups.sources import find_sources_by_name
from kb.lookups.vehicles import find_vehicle_names
from kb.rules.fit.sentence import say_verdict
from kb.rules.fit.values import Reason, Verdict
from kb.rules.tools.cautions import Caution, cautions_for_position, rank_cautions
from kb.terms import Outcome, Position

router = APIRouter(include_in_schema=False)

_QUESTION = ("engine", "asked", "position")
_WORST_FIRST = (Outcome.DOES_NOT_FIT, Outcome.NOT_KNOWN, Outcome.FITS_WITH_CHANGE, Outcome.FITS)
_SHOWN_ENGINES = 12
_MAIN_REASONS = 2

PageText = Annotated[str, Query(max_length=MAX_TEXT, pattern=NO_NUL)]


@dataclass(frozen=True, slots=True)
class Choice:
    """A link that answers one open question; ``note`` says what it means."""

    address: str
    label: str
    note: str = ""


@dataclass(frozen=True, slots=True)
class Message:
    """Something that the person has to settle first, with links to settle it."""

    title: str
    text: str
    choices: tuple[Choice, ...] = ()
    example: str = ""
    status: int = 200


@dataclass(frozen=True, slots=True)
class FitView:
    """A verdict as the page shows it."""

    verdict: Verdict
    sentence: str
    reasons: tuple[Reason, ...]
    main_reasons: tuple[Reason, ...]
    sources: Mapping[str, str]
    hazards: tuple[Caution, ...]
    pictures: tuple[Picture, ...] = ()
    drive: BeltDrive | None = None
    choices: tuple[Choice, ...] = ()
    worth_a_look: tuple[WorthALook, ...] = ()

    @property
    def cited(self) -> list[str]:
        """Sources of the reasons, each once, in the order of the reasons."""
        names = dict.fromkeys(reason.source for reason in self.reasons if reason.source)
        return list(dict.fromkeys(self.sources.get(name, name) for name in names))


@dataclass(frozen=True, slots=True)
class CounterView:
    """All that the counter page shows."""

    engine: str = ""
    asked: str = ""
    position: str = ""
    found: EngineRef | None = None
    fit: FitView | None = None
    message: Message | None = None
    fields: Mapping[str, str] = field(default_factory=dict)

    @property
    def query(self) -> str:
        """The question as the query of an address."""
        return build_query(engine=self.engine, asked=self.asked, position=self.position)


def build_query(**values: str) -> str:
    """Query of a question, what is empty left out.

    Example:
        >>> build_query(engine="plover-50-s", asked="669-18-30", position="")
        'engine=plover-50-s&asked=669-18-30'
    """
    return urlencode({name: value for name, value in values.items() if value})


@router.get("/")
def show_counter(
    request: Request, session: Reader, engine: PageText = "", asked: PageText = "", position: PageText = ""
) -> Response:
    """The counter page with the answer to the question in its address."""
    if request.query_params.keys() - set(_QUESTION):
        return _redirect_to_question(request.query_params)
    view = answer_question(session, engine=engine.strip(), asked=asked.strip(), position=position.strip())
    return render(
        "counter.html",
        status=view.message.status if view.message else 200,
        view=view,
        positions=list(Position),
        size_forms=SIZE_FORMS,
    )


def _redirect_to_question(params: Mapping[str, str]) -> Response:
    """Send the browser to the short address of the question that the fields of a size make."""
    question = {name: params.get(name, "") for name in _QUESTION}
    built = build_asked(params) if params.get("build") or not question["asked"] else None
    if built is not None:
        question["asked"] = built[0]
        if built[1] is not None:
            question["position"] = str(built[1])
    return RedirectResponse(f"/?{build_query(**question)}", status_code=303)


def answer_question(session: Session, *, engine: str, asked: str, position: str) -> CounterView:
    """What the page shows for a question, complete or not."""
    view = CounterView(engine=engine, asked=asked, position=position)
    if not engine:
        message = _ask_for_engine(session, asked=asked, position=position) if asked else None
        return CounterView(asked=asked, position=position, message=message)
    try:
        found = get_engine(session, engine)
    except NotFound as error:
        message = _offer_engines(session, view, error)
        return CounterView(engine=engine, asked=asked, position=position, message=message)
    if not asked:
        return CounterView(engine=found.engine, position=position, found=found)
    try:
        verdict = does_part_fit(session, FitQuestion(found.engine, asked, position or None))
    except KbError as error:
        message = _explain_error(view, error)
        return CounterView(engine=found.engine, asked=asked, position=position, found=found, message=message)
    fit = _build_fit_view(session, verdict)
    return CounterView(engine=found.engine, asked=asked, position=position, found=found, fit=fit)


def _ask_for_engine(session: Session, *, asked: str, position: str) -> Message:
    engines, _ = list_engines(session, limit=_SHOWN_ENGINES)
    choices = _choose_engines(session, engines, asked=asked, position=position)
    return Message("Which engine?", "Name the engine first: its code, or letters of the vehicle.", choices)


def _choose_engines(
    session: Session, engines: Sequence[EngineRef], *, asked: str, position: str
) -> tuple[Choice, ...]:
    vehicles = find_vehicle_names(session, {engine.id for engine in engines})
    return tuple(
        Choice(
            f"/?{build_query(engine=engine.engine, asked=asked, position=position)}",
            engine.engine,
            "; ".join([engine.name or "", *vehicles.get(engine.id, ())]).removeprefix("; "),
        )
        for engine in engines
    )


def _offer_engines(session: Session, view: CounterView, error: NotFound) -> Message:
    """Engines that hold the letters typed, else those with the nearest spelling."""
    engines, has_more = list_engines(session, text=view.engine, limit=_SHOWN_ENGINES)
    if engines:
        text = f"'{view.engine}' is in the code, name, stamp or vehicle of these engines; none was chosen."
        if has_more:
            text = f"'{view.engine}' is in more engines than are listed here; type more letters."
        choices = _choose_engines(session, engines, asked=view.asked, position=view.position)
        return Message("Which engine is meant?", text, choices)
    nearest = [get_engine(session, code) for code in error.nearest]
    choices = _choose_engines(session, nearest, asked=view.asked, position=view.position)
    return Message("Engine not found", str(error), choices, status=404)


def _explain_error(view: CounterView, error: KbError) -> Message:
    problem = describe_error(error)
    nearest = error.nearest if isinstance(error, NotFound) else ()
    is_position = bool(view.position) and view.position.replace(" ", "_") not in set(Position)
    choices = tuple(
        Choice(
            "/?"
            + build_query(
                engine=view.engine,
                asked=view.asked if is_position else name,
                position=name if is_position else view.position,
            ),
            name,
        )
        for name in nearest
    )
    title = "Not in the catalogue" if isinstance(error, NotFound) else "Not understood"
    example = "" if isinstance(error, NotFound) else "669-18-30"
    return Message(title, str(error), choices, example, problem.code)


def _build_fit_view(session: Session, verdict: Verdict) -> FitView:
    reasons = sorted(verdict.reasons, key=lambda reason: _WORST_FIRST.index(reason.outcome))
    names = {reason.source for reason in reasons if reason.source}
    sources = find_sources_by_name(session, names)
    choices, readings = _list_choices(verdict), _say_readings(verdict)
    worse = tuple(reason for reason in reasons if reason.outcome is not Outcome.FITS)
    # With several readings nothing is drawn, because no reading was chosen.
    drive = None if choices else find_belt_drive(session, verdict)
    return FitView(
        verdict=verdict,
        sentence=readings or say_verdict(verdict),
        reasons=tuple(reasons),
        main_reasons=() if readings else worse[:_MAIN_REASONS],
        sources={name: source.as_text() for name, source in sources.items()},
        hazards=rank_cautions(cautions_for_position(verdict.position)) if verdict.position else (),
        pictures=draw_belt_drive(drive) if drive else (),
        drive=drive,
        choices=choices,
        worth_a_look=tuple(list_worth_a_look_beside(session, verdict)),
    )


def _say_readings(verdict: Verdict) -> str | None:
    """The sentence for a size that can be read in several ways, which names none of them."""
    if not verdict.extra.get("readings"):
        return None
    none_fits = "none of them fits" if verdict.outcome is Outcome.DOES_NOT_FIT else "say which one is meant"
    return f"'{verdict.asked.text}' can be read in several ways; {none_fits}."


def _say_belt(size: Mapping[str, object]) -> str:
    names = (("length", "length_mm"), ("width", "top_width_mm"), ("thickness", "thickness_mm"))
    said = [f"{word} {size[name]:g} mm" for word, name in names if size.get(name) is not None]
    return ", ".join(said + ([f"angle {size['angle_deg']:g}°"] if size.get("angle_deg") is not None else []))


def _list_choices(verdict: Verdict) -> tuple[Choice, ...]:
    """Links for what the question leaves open: which reading of a size, which maker of a number."""
    position = str(verdict.position) if verdict.position else ""
    choices = [
        Choice(
            f"/?{build_query(engine=verdict.engine, asked=spelt, position=position)}",
            _say_belt(reading["size"]),
            reading["outcome"],
        )
        for reading in verdict.extra.get("readings", ())
        if (spelt := spell_belt_reading(reading["size"]))
    ]
    for part in verdict.extra.get("candidates", ()):
        name = f"{part['maker']} {part['part_number']}"
        address = f"/?{build_query(engine=verdict.engine, asked=name, position=position)}"
        choices.append(Choice(address, name, part["description"] or ""))
    return tuple(choices)


@router.get("/engines/pick")
def pick_engines(session: Reader, engine: PageText = "") -> Response:
    """Options for the engine field, as the person types."""
    engines, has_more = list_engines(session, text=engine.strip(), limit=_SHOWN_ENGINES)
    if not engines:
        engines = _find_engines(session, engine)
    vehicles = find_vehicle_names(session, {found.id for found in engines})
    return render("engine_options.html", engines=engines, vehicles=vehicles, has_more=has_more)


def _find_engines(session: Session, text: str) -> list[EngineRef]:
    """Engines whose code, stamp or vehicle was nearly written so."""
    found = find_matches(session, text, _SHOWN_ENGINES).results
    return [get_engine(session, item.row.engine) for item in found if item.row.engine]

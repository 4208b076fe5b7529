"""Where the belt needed and the belt asked about run in an engine's pulleys, for drawing them."""

from dataclasses import dataclass

from sqlmodel import Session

from kb.lookups.engines import get_engine
from kb.lookups.places import get_place
from kb.mechanics.drive_range import Belt, Drive, DriveRange
from kb.rules.fit.belt import BeltJudge
from kb.rules.fit.judge import fill_from_others
from kb.rules.fit.settings import FitLimits
from kb.rules.fit.values import BeltNeed, PartSize, Verdict
from kb.terms import Position


@dataclass(frozen=True, slots=True)
class BeltRun:
    """A belt and where it runs."""

    belt: Belt
    span: DriveRange


@dataclass(frozen=True, slots=True)
class BeltDrive:
    """Both pulleys with the belt needed, and the belt asked about where its sizes are known."""

    drive: Drive
    need: BeltRun
    asked: BeltRun | None
    source: str


def find_belt_drive(session: Session, verdict: Verdict, limits: FitLimits | None = None) -> BeltDrive | None:
    """What to draw beside a verdict on a belt; None where the drive or the need is not known in full."""
    if verdict.position is not Position.DRIVE_BELT:
        return None
    place = get_place(session, get_engine(session, verdict.engine), Position.DRIVE_BELT)
    if place.drive is None or not place.needs:
        return None
    need = fill_from_others(place.needs[0], place.needs)
    if not isinstance(need, BeltNeed):
        return None
    judge = BeltJudge(need, place.drive, limits or FitLimits())
    need_range, need_belt = judge.need_range, judge.need_belt
    if need_range is None or need_belt is None:
        return None
    return BeltDrive(
        drive=place.drive.drive,
        need=BeltRun(need_belt, need_range),
        asked=_find_asked_run(judge, verdict.asked.size),
        source=place.drive.source.as_text(),
    )


def _find_asked_run(judge: BeltJudge, asked: PartSize) -> BeltRun | None:
    span = judge.find_asked_range(asked)
    return BeltRun(judge.build_belt(asked), span) if span is not None else None

"""May this worn part go back: a measured value held against the size when new and the limit.

A person meets it with a caliper in hand: belt width, roller diameter, free length of a spring, lining left.
The limit stands in the maker's manual or on a wear sheet. The answer says nothing about cracks, glazing,
flat spots or heat marks: a part inside its limit may still be scrap.

Source: near the limit from 80 % of the wear allowance used, up to and including the limit (setting of this
project); measuring tolerances (0.1 mm on rubber, 0.05 mm on metal, new belts ± 0.2 mm): judgement of this
project.

Example:
    >>> from kb.rules.gauge_values import GaugeLimit, GaugeReading
    >>> from kb.terms import LimitSense, Position
    >>> belt = GaugeReading("plover-50-s", Position.DRIVE_BELT, "top_width_mm", 15.5)
    >>> answer = gauge_reading(belt, GaugeLimit(17.0, 15.0, LimitSense.MIN))
    >>> answer.state.value, answer.used_percent, answer.quantity
    ('good', 75.0, 'top_width')
"""

from collections.abc import Iterator
from dataclasses import replace

from kb.mechanics.plausible_input import check_not_negative
from kb.rules.fit.values import Measurement
from kb.rules.gauge_consequences import find_consequences
from kb.rules.gauge_meaning import say_meaning
from kb.rules.gauge_plausibility import (
    find_oddities,
    find_room,
    has_doubt,
    infer_sense,
    needs_micrometer,
    used_percent_of,
)
from kb.rules.gauge_values import (
    GaugeAnswer,
    GaugeFinding,
    GaugeFindingCode,
    GaugeLimit,
    GaugeMachine,
    GaugeReading,
    GaugeState,
    WearFindings,
)
from kb.rules.quantity import EQUAL, parse_quantity
from kb.terms import Position

NEAR_LIMIT_PERCENT = 80.0
_UNKNOWN_MACHINE = GaugeMachine()
_DUST = (
    "CAUTION: do not blow dust of belt or linings out with air; wipe it up damp or use a filtered vacuum, "
    "wear a dust mask; old linings may hold asbestos."
)
_CONTRA = (
    "WARNING: the contra spring is compressed behind the clutch nut and can throw parts; hold the assembly "
    "until the spring is relaxed, wear eye protection."
)
_HOOKS = "WARNING: clutch springs are under tension; wear eye protection when hooking and unhooking them."
_GUIDE = "NOTICE: limits shown are a guide; the maker's manual, local rules and licensed practice decide."
_MICROMETER = "NOTICE: the whole wear allowance is below 0.2 mm; measure with a micrometer or a bore gauge."
_CAUTIONS_OF_POSITION: dict[Position, tuple[str, ...]] = {
    Position.DRIVE_BELT: (_DUST,),
    Position.CLUTCH_SHOES: (_DUST,),
    Position.CLUTCH_BELL: (_DUST,),
    Position.CONTRA_SPRING: (_CONTRA,),
    Position.CLUTCH_SPRINGS: (_HOOKS,),
    Position.TORQUE_DRIVER: (_CONTRA,),
    Position.GUIDE_PINS: (_CONTRA,),
}


def gauge_reading(
    reading: GaugeReading,
    limit: GaugeLimit,
    *,
    machine: GaugeMachine = _UNKNOWN_MACHINE,
    near_percent: float = NEAR_LIMIT_PERCENT,
) -> GaugeAnswer:
    """The verdict on a measured value, with what the wear changes on the machine.

    Args:
        reading: engine, position, quantity and value [unit of the limit], 0 or more.
        limit: size when new, limit, sense and source; a sense that is not stated follows from the two sizes.
        machine: belt, rollers, spring and drive of the engine, as far as known.
        near_percent: share of the wear allowance from which a part is near its limit [%], 0 to 100.

    Returns:
        ``good`` below ``near_percent`` used, ``near_limit`` from there up to and including the limit,
        ``replace`` beyond it, ``not_known`` when a number is missing or a reading can't be of this part worn.

    Raises:
        BadInput: a value below zero or not finite, or a quantity without a name.

    Source: as the module.
    """
    check_not_negative(reading.quantity, reading.value)
    quantity = parse_quantity(reading.quantity, position=reading.position)
    reading = replace(reading, quantity=quantity)
    limit = replace(limit, sense=limit.sense or infer_sense(limit))
    used_percent = used_percent_of(reading.value, limit)
    findings = find_oddities(reading, limit, used_percent=used_percent)
    state = _judge(reading.value, limit, findings=findings, near_percent=near_percent)
    is_believed = state is not GaugeState.NOT_KNOWN and all(
        finding.code is not GaugeFindingCode.FAR_FROM_NEW for finding in findings
    )
    effects = find_consequences(reading, limit, machine=machine) if is_believed else WearFindings()
    return GaugeAnswer(
        engine=reading.engine,
        position=reading.position,
        quantity=quantity,
        value=reading.value,
        unit=limit.unit,
        nominal=limit.nominal,
        limit=limit.limit,
        sense=limit.sense,
        state=state,
        used_percent=None if used_percent is None else max(0.0, round(used_percent, 6)),
        room=find_room(reading.value, limit),
        text=_describe(state, reading, limit=limit),
        meaning=say_meaning(state, effects.consequences),
        findings=findings,
        consequences=tuple(effects.consequences),
        measure_next=(*_measure_next(reading, limit, findings=findings), *effects.lacking),
        source=limit.source,
        cautions=tuple(_cautions(reading.position, limit, effects=effects)),
    )


def _cautions(position: Position, limit: GaugeLimit, *, effects: WearFindings) -> Iterator[str]:
    yield from _CAUTIONS_OF_POSITION.get(position, ())
    if needs_micrometer(limit):
        yield _MICROMETER
    yield from effects.cautions
    yield _GUIDE


def _judge(
    value: float, limit: GaugeLimit, *, findings: tuple[GaugeFinding, ...], near_percent: float
) -> GaugeState:
    room = find_room(value, limit)
    if room is None or has_doubt(value, limit, findings=findings):
        return GaugeState.NOT_KNOWN
    if room < -EQUAL:
        return GaugeState.REPLACE
    if room <= EQUAL:
        return GaugeState.NEAR_LIMIT
    used_percent = used_percent_of(value, limit)
    if used_percent is None:
        return GaugeState.NOT_KNOWN
    return GaugeState.NEAR_LIMIT if used_percent >= near_percent - EQUAL else GaugeState.GOOD


_STATE_TEXT = {
    GaugeState.GOOD: "inside the limit",
    GaugeState.NEAR_LIMIT: "close to the limit: plan the replacement",
    GaugeState.REPLACE: "beyond the limit: replace",
    GaugeState.NOT_KNOWN: "no verdict from what is known",
}
_AT_LIMIT = "on the limit, which is still allowed: plan the replacement"


def _describe(state: GaugeState, reading: GaugeReading, *, limit: GaugeLimit) -> str:
    unit = f" {limit.unit}" if limit.unit else ""
    against = "no limit is known" if limit.limit is None else f"limit {limit.limit:g}{unit}"
    room = find_room(reading.value, limit)
    verdict, left = _STATE_TEXT[state], ""
    if room is not None and state in (GaugeState.GOOD, GaugeState.NEAR_LIMIT):
        verdict = verdict if room > EQUAL else _AT_LIMIT
        left = f", {round(room, 3):g}{unit} left" if room > EQUAL else ""
    name = reading.quantity.replace("_", " ")
    return f"{name.capitalize()} {round(reading.value, 3):g}{unit}, {against}{left}: {verdict}."


def _measure_next(
    reading: GaugeReading, limit: GaugeLimit, *, findings: tuple[GaugeFinding, ...]
) -> tuple[Measurement, ...]:
    wanted: list[Measurement] = []
    if limit.limit is None:
        wanted.append(Measurement("limit", "Look the limit of wear up in the maker's manual and record it."))
    elif limit.nominal is None:
        wanted.append(
            Measurement("nominal", "Look the size when new up, or measure a new part, and record it.")
        )
    if limit.limit is not None and limit.sense is None:
        wanted.append(Measurement("sense", "Record whether the limit is a smallest or a largest value."))
    if any(finding.code is GaugeFindingCode.LIMIT_CONTRADICTS for finding in findings):
        wanted.append(
            Measurement("limit", "Check size when new, limit and sense in the manual; they contradict.")
        )
    elif findings:
        wanted.append(
            Measurement(
                reading.quantity, "Measure again at three places round the part and take the most worn."
            )
        )
    return tuple(wanted)

"""Fasteners in the order of the job: every source that says something else stands as a row of its own.

A person meets two manuals with two torques for one nut. None is chosen: both rows stand side by side and each
names what the other states differently. An unknown torque stays unknown; beside it stands the generic torque
of thread and class as an upper limit for a second look.

Source: generic torque as ``kb.rules.tools.torque_sanity``; the rest judgement of this project.
"""

from collections.abc import Sequence

from kb.errors import BadNotation
from kb.notation.thread import ThreadReading, parse_thread
from kb.rules.card.values import BarAdvice, CardFastener, GenericLimit, JobStep, StatedFastener
from kb.rules.source import SourceRef
from kb.rules.tools.cautions import (
    LIMITING_BAR,
    Caution,
    cautions_for_position,
    cautions_for_torque,
    rank_cautions,
)
from kb.rules.tools.hand import POSITIONS_ON_ROTATING_SHAFT, settle_hand
from kb.rules.tools.lubrication import ThreadCondition
from kb.rules.tools.owned_tool import OwnedTool
from kb.rules.tools.torque_limiting_bar import BarUse, rank_limiting_bar
from kb.rules.tools.torque_sanity import (
    ASSUMED_CLASS,
    TorqueSanity,
    TorqueSanitySettings,
    compare_torque_with_thread,
)
from kb.standards.generic_torques import find_generic_torque
from kb.standards.proof_loads import find_proof_load
from kb.terms import FASTENER_POSITIONS, Hand, Position, ToolKind

# Large nuts of driven pulleys are thin and sit on hollow shafts; common practice, no source.
THIN_NUT_FROM_MM = 24.0
_PLAIN_NUT = TorqueSanitySettings()
_THIN_NUT = TorqueSanitySettings(lowest_share=0.01)
_WORDS_OF_CONDITION = (
    (("compound", "thread lock", "threadlock"), ThreadCondition.LOCKING_COMPOUND),
    (("grease",), ThreadCondition.GREASED),
    (("oiled", "with oil"), ThreadCondition.OILED),
    (("dry",), ThreadCondition.DRY),
)


def list_fastener_positions(steps: Sequence[JobStep]) -> tuple[Position, ...]:
    """Positions of fasteners that the job undoes or tightens, in the order of the job.

    Example:
        >>> list_fastener_positions([JobStep(1, "Undo it.", Position.CRANK_NUT), JobStep(2, "Look.")])
        (<Position.CRANK_NUT: 'crank_nut'>,)
    """
    found = (
        step.position
        for step in steps
        if step.position is not None and (step.fastener or step.position in FASTENER_POSITIONS)
    )
    return tuple(dict.fromkeys(found))


def build_fasteners(
    stated: Sequence[StatedFastener], positions: Sequence[Position], *, tools: Sequence[OwnedTool] = ()
) -> tuple[CardFastener, ...]:
    """Fasteners of the card.

    Args:
        stated: rows of all sources, the best source first.
        positions: the positions of the job, in its order.
        tools: tools of the shop; torque-limiting bars among them are judged for each shaft nut.

    Returns:
        Per position every row that adds or contradicts something; one that only repeats is named as agreeing.
    """
    found: list[CardFastener] = []
    for position in positions:
        rows = [row for row in stated if row.position is position]
        kept, agreeing = _drop_repeats(rows)
        for row, sources in zip(kept, agreeing, strict=True):
            differs = sorted({name for other in rows for name in list_differences(row, other)})
            found.append(_build(row, tuple(differs), sources, tools=tools))
    return tuple(found)


def _drop_repeats(
    rows: Sequence[StatedFastener],
) -> tuple[list[StatedFastener], list[tuple[SourceRef, ...]]]:
    kept: list[StatedFastener] = []
    agreeing: list[tuple[SourceRef, ...]] = []
    for row in rows:
        place = next((place for place, other in enumerate(kept) if _repeats(row, other)), None)
        if place is None:
            kept.append(row)
            agreeing.append(())
        else:
            agreeing[place] = (*agreeing[place], row.source)
    return kept, agreeing


def _values(row: StatedFastener) -> dict[str, object]:
    return {
        "thread": row.thread,
        "hand": row.hand,
        "drive": row.drive,
        "across_flats_mm": row.across_flats_mm,
        "count": row.count,
        "torque_min_nm": row.torque.min_nm,
        "torque_nm": row.torque.nominal_nm,
        "torque_max_nm": row.torque.max_nm,
        "locking": row.locking,
        "single_use": row.single_use,
        "holding": row.holding,
    }


def _repeats(row: StatedFastener, other: StatedFastener) -> bool:
    """Whether a row states nothing that the other does not state alike."""
    told = _values(other)
    return all(value is None or value == told[name] for name, value in _values(row).items())


def list_differences(row: StatedFastener, other: StatedFastener) -> tuple[str, ...]:
    """Names of what both rows state, and state differently; how to hold it is not compared.

    Example:
        >>> from kb.rules.tools.torque_band import TorqueBand
        >>> from kb.terms import SourceKind
        >>> old, new = SourceRef("old", SourceKind.MANUAL), SourceRef("new", SourceKind.MANUAL)
        >>> list_differences(
        ...     StatedFastener(Position.CRANK_NUT, old, torque=TorqueBand(nominal_nm=38.0)),
        ...     StatedFastener(Position.CRANK_NUT, new, torque=TorqueBand(nominal_nm=43.0)),
        ... )
        ('torque_nm',)
    """
    told = _values(other)
    return tuple(
        name
        for name, value in _values(row).items()
        if name not in ("holding", "locking") and None not in (value, told[name]) and value != told[name]
    )


def _build(
    row: StatedFastener,
    differs: tuple[str, ...],
    agreeing: tuple[SourceRef, ...],
    *,
    tools: Sequence[OwnedTool],
) -> CardFastener:
    thread = find_thread(row.thread)
    hand = settle_hand(row.hand, thread.hand if thread else None)
    bars = _rank_bars(row, thread, hand, tools=tools)
    condition = find_condition(row.locking)
    cautions: tuple[Caution, ...] = (
        *cautions_for_torque(
            row.source.kind,
            is_known=row.torque.is_known,
            hand=hand,
            single_use=bool(row.single_use),
            locking=condition is ThreadCondition.LOCKING_COMPOUND,
        ),
        *cautions_for_position(row.position),
        *((LIMITING_BAR,) if bars else ()),
    )
    known = row.torque.highest_nm
    return CardFastener(
        stated=row,
        hand=hand,
        condition=condition,
        differs=differs,
        agreeing=agreeing,
        sanity=check_torque(known, thread) if known is not None else None,
        generic_limit=find_generic_limit(thread) if not row.torque.is_known else None,
        bars=bars,
        cautions=rank_cautions(cautions),
    )


def find_thread(text: str | None) -> ThreadReading | None:
    """A written thread as it is read; None where none is written or it is not understood."""
    if not text:
        return None
    try:
        return parse_thread(text)
    except BadNotation:
        return None


def find_condition(locking: str | None) -> ThreadCondition:
    """Condition of the thread for which a torque is printed, from the words on locking.

    Example:
        >>> find_condition("thread-locking compound, medium").value, find_condition(None).value
        ('locking_compound', 'unknown')
    """
    text = (locking or "").casefold()
    for words, condition in _WORDS_OF_CONDITION:
        if any(word in text for word in words):
            return condition
    return ThreadCondition.UNKNOWN


def check_torque(torque_nm: float, thread: ThreadReading | None) -> TorqueSanity | None:
    """Whether a stored torque is plausible for its thread; None where the thread is not known.

    A thread of 24 mm or more is a thin nut on a hollow shaft: a hundredth of the generic torque is low
    there, not a tenth.

    Example:
        >>> check_torque(55.0, parse_thread("M28x1.5")).state.value
        'plausible'
        >>> check_torque(5.5, parse_thread("M28x1.5")).hints
        ('If the source prints 5.5 kgf·m, it is 53.9 N·m.',)
    """
    if thread is None or thread.pitch_mm is None:
        return None
    is_thin = thread.d_mm >= THIN_NUT_FROM_MM
    return compare_torque_with_thread(
        torque_nm,
        diameter_mm=thread.d_mm,
        pitch_mm=thread.pitch_mm,
        property_class=thread.property_class,
        settings=_THIN_NUT if is_thin else _PLAIN_NUT,
    )


def find_generic_limit(thread: ThreadReading | None) -> GenericLimit | None:
    """Generic torque of a thread as an upper limit; None outside the tables.

    Example:
        >>> find_generic_limit(parse_thread("M10x1.25")).highest_nm
        76.2
    """
    if thread is None or thread.pitch_mm is None:
        return None
    assumed = thread.property_class or ASSUMED_CLASS
    load = find_proof_load(thread.d_mm, thread.pitch_mm, property_class=assumed)
    generic = find_generic_torque(load.thread, assumed) if load else None
    if generic is None:
        return None
    label = f"generic, class {assumed} {'stated' if thread.property_class else 'assumed'}; not a manual value"
    return GenericLimit(
        highest_nm=generic.dry_nm,
        label=label,
        text=(
            f"Not known. A value above {generic.dry_nm:g} N·m would be more than a plain steel screw of this "
            f"thread bears ({label}); it is no torque to tighten to."
        ),
    )


def _rank_bars(
    row: StatedFastener, thread: ThreadReading | None, hand: Hand, *, tools: Sequence[OwnedTool]
) -> tuple[BarAdvice, ...]:
    if row.position not in POSITIONS_ON_ROTATING_SHAFT or not row.torque.is_known:
        return ()
    use = BarUse(
        thread_diameter_mm=thread.d_mm if thread else None, hand=hand, single_use=bool(row.single_use)
    )
    return tuple(
        BarAdvice(tool.tool, rank_limiting_bar(tool.max_nm, row.torque, use=use))
        for tool in tools
        if tool.kind is ToolKind.TORQUE_STICK and tool.owned and tool.max_nm
    )

"""May a torque-limiting bar on an impact wrench run a nut down before the torque wrench?

The bar is a torsion spring: near its nominal value it gives the energy of each blow back, so the nut stops
gaining. It limits, it does not measure: the result depends on the wrench, its supply, the time on the nut
and the state of the bar. The last part is always done with a torque wrench.

Source: that it limits and what it depends on, published articles; ±25 % scatter and aiming at no more than
80 % of the target, judgement of this project (articles name 70 to 80 %).
"""

from dataclasses import dataclass

from kb.errors import BadInput
from kb.rules.tools.torque_band import SAME_TORQUE_NM, TorqueBand
from kb.terms import Hand

FINISH_TEXT = "Finish with a torque wrench: the bar limits, it does not measure."
NO_EXTENSION_TEXT = "No further extension or joint on the bar: it changes the stiffness."
LOOK_AT_SWITCH_TEXT = "Left-hand thread: look at the direction switch before the first blow."
UNKNOWN_HAND_TEXT = "The hand of the thread is not known: find it out before the first blow."
SEAT_BY_HAND_TEXT = "Run the thread down by hand first so that all parts are seated."


@dataclass(frozen=True, slots=True)
class LimitingBarSettings:
    """Limits of the rule; the first two and the last a judgement of this project."""

    scatter: float = 0.25
    largest_share_of_target: float = 0.8
    smallest_thread_mm: float = 10.0


DEFAULT_SETTINGS = LimitingBarSettings()


@dataclass(frozen=True, slots=True)
class BarUse:
    """What the bar would be used on; None for what is not known.

    ``thread_diameter_mm`` is the nominal diameter, ``tapered_or_splined`` a seat that must be drawn up by
    hand first.
    """

    thread_diameter_mm: float | None = None
    hand: Hand = Hand.UNKNOWN
    single_use: bool = False
    aluminium_thread: bool = False
    tapered_or_splined: bool = False
    loosening: bool = False


@dataclass(frozen=True, slots=True)
class BarAnswer:
    """Whether the bar may be used, between which torques the nut may end up [N·m], and why not.

    ``conditions`` always tells to finish with a torque wrench.
    """

    is_allowed: bool
    lowest_nm: float
    highest_nm: float
    reasons: tuple[str, ...]
    conditions: tuple[str, ...]
    source: str = "judgement of this project on published articles about such bars"


def rank_limiting_bar(
    bar_nominal_nm: float,
    band: TorqueBand,
    *,
    use: BarUse,
    settings: LimitingBarSettings = DEFAULT_SETTINGS,
) -> BarAnswer:
    """Whether a bar may be used: even 25 % strong it stays below the maximum, and it aims at 80 % at most.

    Args:
        bar_nominal_nm: marked value of the bar [N·m], above 0.
        band: printed torque of the nut.
        use: the nut and the work.
        settings: limits of the rule.

    Returns:
        Answer with every reason against it; both limits themselves still allow the bar.

    Raises:
        BadInput: the marked value is not above zero.

    Source: judgement of this project.

    Example:
        >>> use = BarUse(thread_diameter_mm=12.0, hand=Hand.RIGHT)
        >>> rank_limiting_bar(40.67, TorqueBand(nominal_nm=55), use=use).is_allowed
        True
        >>> rank_limiting_bar(40.67, TorqueBand(nominal_nm=45), use=use).is_allowed
        False
    """
    if not bar_nominal_nm > 0:
        raise BadInput(
            f"Torque-limiting bar of '{bar_nominal_nm:g}' N·m is not a bar; write its marked value in N·m."
        )
    highest = (1 + settings.scatter) * bar_nominal_nm
    reasons = (*_torque_reasons(bar_nominal_nm, band, settings), *_use_reasons(use, settings))
    return BarAnswer(
        is_allowed=not reasons,
        lowest_nm=(1 - settings.scatter) * bar_nominal_nm,
        highest_nm=highest,
        reasons=reasons,
        conditions=_list_conditions(use),
    )


def _torque_reasons(bar_nm: float, band: TorqueBand, settings: LimitingBarSettings) -> tuple[str, ...]:
    target, largest = band.setting_nm, band.highest_nm
    if target is None or largest is None:
        return ("The torque of the nut is not known.",)
    reasons = []
    strong_nm = (1 + settings.scatter) * bar_nm
    if strong_nm > largest + SAME_TORQUE_NM:
        reasons.append(
            f"The bar may reach {strong_nm:.1f} N·m, the nut must not get more than {largest:g} N·m."
        )
    share = settings.largest_share_of_target
    if bar_nm > share * target + SAME_TORQUE_NM:
        reasons.append(
            f"The bar of {bar_nm:.1f} N·m is above {share:.0%} of {target:g} N·m; nothing would be left "
            "for the torque wrench."
        )
    return tuple(reasons)


def _use_reasons(use: BarUse, settings: LimitingBarSettings) -> tuple[str, ...]:
    small = use.thread_diameter_mm is not None and use.thread_diameter_mm < settings.smallest_thread_mm
    checks = (
        (use.loosening, "It is not made for loosening."),
        (use.thread_diameter_mm is None, "The thread is not known; on M8 and smaller it must not be used."),
        (small, "The thread is smaller than M10; screws of M6 and M8 break."),
        (use.aluminium_thread, "The thread is in aluminium."),
        (use.tapered_or_splined, "Parts on a taper or splines must first be drawn up by hand."),
        (use.single_use, "The nut is single-use; its own drag adds to what the bar lets through."),
    )
    return tuple(reason for applies, reason in checks if applies)


def _list_conditions(use: BarUse) -> tuple[str, ...]:
    hand = {
        Hand.RIGHT: (),
        Hand.LEFT: (LOOK_AT_SWITCH_TEXT,),
        Hand.UNKNOWN: (UNKNOWN_HAND_TEXT,),
    }[use.hand]
    return (*hand, SEAT_BY_HAND_TEXT, NO_EXTENSION_TEXT, FINISH_TEXT)

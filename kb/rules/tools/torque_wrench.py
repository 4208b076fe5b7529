"""Which torque wrench of the shop does the job, and whether it is exact enough for the printed band.

A setting-type wrench is tested at 20, 60 and 100 % of its maximum and may be off by 4 %, or by 6 % when its
maximum is 10 N·m or less. Below 20 % or below its lowest mark nothing is promised.

Source: ISO 6789:2003 as a published tool manual prints it; that the 2017 edition starts at the lowest mark,
a published article. Preferring a target near 60 % of the maximum: judgement of this project.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from kb.rules.tools.owned_tool import OwnedTool
from kb.rules.tools.torque_band import SAME_TORQUE_NM, TorqueBand
from kb.terms import ToolKind


@dataclass(frozen=True, slots=True)
class TorqueWrenchSettings:
    """Limits of the choice; the first four of ISO 6789, the last a judgement of this project."""

    lowest_share_of_max: float = 0.2
    deviation: float = 0.04
    deviation_of_small: float = 0.06
    small_up_to_nm: float = 10.0
    best_share_of_max: float = 0.6


DEFAULT_SETTINGS = TorqueWrenchSettings()


@dataclass(frozen=True, slots=True)
class TorqueWrenchChoice:
    """The wrench to take (None when none fits), what to set it to, and why.

    ``deviation_nm`` is how far the wrench may be off at the setting. ``warnings`` are sentences for the
    person; ``refused`` says for each wrench left out what is wrong with it.
    """

    tool: OwnedTool | None
    setting_nm: float | None
    is_setting_computed: bool
    deviation_nm: float | None
    text: str
    warnings: tuple[str, ...]
    refused: tuple[str, ...]


def choose_torque_wrench(
    band: TorqueBand, tools: Sequence[OwnedTool], settings: TorqueWrenchSettings = DEFAULT_SETTINGS
) -> TorqueWrenchChoice:
    """Of the owned wrenches that cover the whole band, the one with its target nearest to 60 % of maximum.

    Args:
        band: the printed torque.
        tools: tools of the shop; only owned torque wrenches count.
        settings: limits of the choice.

    Returns:
        Choice with ``tool`` None when the torque is not known or no owned wrench covers it.

    Source: ISO 6789 limits (published tool manual); the preference a judgement of this project.

    Example:
        >>> small = OwnedTool("wrench 2-25", ToolKind.TORQUE_WRENCH, min_nm=2, max_nm=25)
        >>> large = OwnedTool("wrench 20-110", ToolKind.TORQUE_WRENCH, min_nm=20, max_nm=110)
        >>> choose_torque_wrench(TorqueBand(nominal_nm=10), [small, large]).tool.tool
        'wrench 2-25'
        >>> choose_torque_wrench(TorqueBand(), [small, large]).tool is None
        True
    """
    target = band.setting_nm
    if target is None:
        return _no_wrench(band, "The torque is not known: look it up in the maker's manual.", ())
    fitting: list[tuple[float, str, OwnedTool, float]] = []
    refused = []
    for tool in tools:
        if tool.kind is not ToolKind.TORQUE_WRENCH or not tool.owned:
            continue
        reason, maximum_nm = find_refusal(tool, band, settings), tool.max_nm
        if reason is not None or maximum_nm is None:
            refused.append(f"{tool.tool}: {reason}")
        else:
            distance = abs(target / maximum_nm - settings.best_share_of_max)
            fitting.append((distance, tool.tool, tool, maximum_nm))
    if not fitting:
        return _no_wrench(band, f"No owned torque wrench covers {format_band(band)}.", tuple(refused))
    _, _, chosen, chosen_max_nm = min(fitting, key=lambda entry: entry[:2])
    share = _deviation_share(chosen_max_nm, settings)
    return TorqueWrenchChoice(
        tool=chosen,
        setting_nm=target,
        is_setting_computed=band.is_setting_computed,
        deviation_nm=share * target,
        text=_format_setting(chosen, band, target),
        warnings=_list_warnings(band, share),
        refused=tuple(refused),
    )


def find_refusal(
    tool: OwnedTool, band: TorqueBand, settings: TorqueWrenchSettings = DEFAULT_SETTINGS
) -> str | None:
    """What keeps a wrench from covering the band, None when nothing does; the limit itself still counts."""
    low, high = band.lowest_nm, band.highest_nm
    if low is None or high is None:
        return "the torque is not known"
    if tool.min_nm is None or tool.max_nm is None:
        return "its range is not known"
    if high > tool.max_nm:
        return f"{high:g} N·m is above its maximum of {tool.max_nm:g} N·m"
    if low < tool.min_nm:
        return f"{low:g} N·m is below its lowest mark of {tool.min_nm:g} N·m"
    floor = settings.lowest_share_of_max * tool.max_nm
    if low < floor - SAME_TORQUE_NM:
        return f"{low:g} N·m is below {settings.lowest_share_of_max:.0%} of its maximum ({floor:g} N·m)"
    return None


def format_band(band: TorqueBand) -> str:
    """Printed torque in one phrase.

    Example:
        >>> format_band(TorqueBand(36, 40, 44)), format_band(TorqueBand())
        ('36 to 44 N·m', 'a torque that is not known')
    """
    low, high = band.lowest_nm, band.highest_nm
    if low is None or high is None:
        return "a torque that is not known"
    return f"{low:g} N·m" if low == high else f"{low:g} to {high:g} N·m"


def _no_wrench(band: TorqueBand, text: str, refused: tuple[str, ...]) -> TorqueWrenchChoice:
    return TorqueWrenchChoice(
        tool=None,
        setting_nm=band.setting_nm,
        is_setting_computed=band.is_setting_computed,
        deviation_nm=None,
        text=text,
        warnings=(),
        refused=refused,
    )


def _deviation_share(maximum_nm: float, settings: TorqueWrenchSettings) -> float:
    return settings.deviation_of_small if maximum_nm <= settings.small_up_to_nm else settings.deviation


def _format_setting(tool: OwnedTool, band: TorqueBand, target_nm: float) -> str:
    origin = " (midpoint of the printed range, computed)" if band.is_setting_computed else ""
    return f"{tool.tool}: set {target_nm:g} N·m{origin}."


def _list_warnings(band: TorqueBand, share: float) -> tuple[str, ...]:
    if band.min_nm is None or band.max_nm is None or band.setting_nm is None:
        return ()
    half = (band.max_nm - band.min_nm) / 2
    if half >= share * band.setting_nm - SAME_TORQUE_NM:
        return ()
    return (
        f"The printed band is ±{half:g} N·m and the wrench alone may be off by "
        f"±{share * band.setting_nm:.2g} N·m: the wrench uses up the band. Use a freshly calibrated one.",
    )

"""Rows of nearly the asked size. They are no answer: a size that differs is another part.

A belt measured as 787 may be the 788 on the shelf. Such rows are listed apart, each with what differs.
"""

from collections.abc import Iterable
from dataclasses import dataclass

from kb.rules.match.numbers import convert_number_token
from kb.rules.match.tokens import Candidate, Group, GroupKind, Reading

_STEPS = 8
_SHARE = 0.005
_LEAST_MM = 0.5
_TOLERANCE = 1e-9
_LARGEST_MM = 3_000.0
_MAX_NUMBERS = 6


@dataclass(frozen=True, slots=True)
class NearSize:
    """A row whose sizes are near: pairs of asked and present number that differ."""

    candidate: Candidate
    differs: tuple[tuple[float, float], ...]
    distance: float

    @property
    def why(self) -> str:
        """What differs, as a sentence."""
        pairs = ", ".join(f"{has:g} instead of {asked:g}" for asked, has in self.differs)
        return f"Not the asked size: {pairs}."


def get_reach(value: float) -> float:
    """How far a near size may be away: half a percent, at least 0.5.

    Source: judgement of this project; a tape or a worn rim is no better.

    Example:
        >>> get_reach(788.0), get_reach(17.0)
        (3.94, 0.5)
    """
    return max(_LEAST_MM, _SHARE * value)


def list_near_tokens(value: float) -> tuple[str, ...]:
    """Number tokens within reach of a value, in steps of a half (below 50 also of a tenth).

    Nothing above 3000: no part of a scooter is longer than its cables.

    Example:
        >>> list_near_tokens(787.0)[:3]
        ('n783p5', 'n784', 'n784p5')
    """
    if value > _LARGEST_MM:
        return ()
    step = 0.1 if value < 50 else 0.5
    reach = get_reach(value)
    first = -int(reach / step + _TOLERANCE)
    # A size off the grid keeps its own offset; whole and half sizes around it are added.
    values = {round(value + index * step, 2) for index in range(first, -first + 1)}
    values |= {round(round(value * 2) / 2 + index * 0.5, 2) for index in range(-_STEPS, _STEPS + 1)}
    near = sorted(one for one in values if one > 0 and abs(one - value) <= reach + _TOLERANCE)
    return tuple("n" + f"{one:g}".replace(".", "p") for one in near)


def _get_asked(group: Group) -> tuple[float, ...]:
    values = (convert_number_token(token) for token, _ in group.alternatives)
    return tuple(value for value in values if value is not None)


def list_near_groups(reading: Reading) -> list[tuple[str, ...]]:
    """Groups to fetch rows of nearly the asked size.

    Empty when the question has no number, no article, or more numbers than a size has.
    """
    numbers = [group for group in reading.groups if group.kind is GroupKind.NUMBER]
    named = [group for group in reading.groups if group.kind in (GroupKind.CONCEPT, GroupKind.CODE)]
    if not 1 <= len(numbers) <= _MAX_NUMBERS or (not named and len(numbers) < 2):
        return []
    groups = [tuple(token for token, _ in group.alternatives) for group in named]
    for group in numbers:
        near = [token for value in _get_asked(group) for token in list_near_tokens(value)]
        if not near:
            return []
        groups.append(tuple(dict.fromkeys(near)))
    return groups


def compare_near(reading: Reading, candidate: Candidate) -> NearSize | None:
    """The row with what differs, or None when a number is out of reach or nothing differs."""
    present = [value for token in candidate.tokens if (value := convert_number_token(token)) is not None]
    differs: list[tuple[float, float]] = []
    distance = 0.0
    for group in reading.groups:
        if group.kind is not GroupKind.NUMBER:
            continue
        pairs = [(abs(has - asked), asked, has) for asked in _get_asked(group) for has in present]
        gap, asked, has = min(pairs, default=(1.0, 0.0, 0.0))
        if gap > get_reach(asked) + _TOLERANCE:
            return None
        if gap > _TOLERANCE:
            differs.append((asked, has))
            distance += gap / get_reach(asked)
    return NearSize(candidate, tuple(differs), distance) if differs else None


def rank_near(reading: Reading, candidates: Iterable[Candidate]) -> list[NearSize]:
    """Rows of nearly the asked size, the nearest first."""
    near = [one for candidate in candidates if (one := compare_near(reading, candidate))]
    return sorted(near, key=lambda one: (len(one.differs), one.distance, one.candidate.row_id))

"""A set of rollers: mean mass, which decides the shift speed, and balance, which is a matter of order.

Slots are numbered from 1 round the circle. Imbalance is mass times radius [g·mm]; its rotating force grows
with the square of the speed.

Source: published: the "balanced centrifuge" rule (attributed to G. Sivek, On vanishing sums of distinct roots
of unity, Integers 10, 2010, title from memory), verified by trying every subset of 3, 6, 8, 10 and 12 slots.
"""

from cmath import exp
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from itertools import combinations, permutations
from math import pi

from kb.errors import BadInput
from kb.mechanics.plausible_input import check_positive
from kb.units import convert_rpm_to_rad_per_s

LARGEST_SLOT_COUNT = 16
LARGEST_ORDER_COUNT = 9
_EQUAL = 1e-9


class BalanceClass(StrEnum):
    """What to do about an imbalance."""

    FINE = "fine"
    NOTE = "note"
    REARRANGE = "rearrange"


@dataclass(frozen=True, slots=True)
class BalanceLimits:
    """Bounds of the classes: fine below the first, noted up to the second (judgement of this project).

    For orientation: on a 1 kg rotor at 7000 r/min balance grade G 6.3 allows 8.6 g·mm, G 16 21.8, G 40 54.6
    (published: definition of the grades in ISO 21940-11, read in secondary pages).
    """

    fine_g_mm: float = 10.0
    note_g_mm: float = 40.0


@dataclass(frozen=True, slots=True)
class SlotPlan:
    """Best places for the heavy rollers.

    Attributes:
        residual: imbalance left over, in units of mass difference times radius; 0 is balanced.
        arrangements: every best choice of heavy slots, numbered from 1.
    """

    residual: float
    arrangements: tuple[tuple[int, ...], ...]


@dataclass(frozen=True, slots=True)
class RollerOrder:
    """Best order of rollers that were weighed one by one.

    Attributes:
        positions: for slot 1, 2, ... which roller of the list goes there, counted from 1.
        masses_g: their masses in that order.
        imbalance_g_mm: imbalance left over.
    """

    positions: tuple[int, ...]
    masses_g: tuple[float, ...]
    imbalance_g_mm: float


def mean_mass_g(masses_g: Sequence[float]) -> float:
    """Mean mass [g] of a set, the mass that decides the shift speed.

    Example:
        >>> mean_mass_g([6.0, 7.0, 6.0, 7.0, 6.0, 7.0])
        6.5
    """
    _check_masses(masses_g)
    return sum(masses_g) / len(masses_g)


def imbalance_g_mm(masses_g: Sequence[float], roller_radius_mm: float) -> float:
    """Imbalance of rollers in equal slots, in the order given.

    Args:
        masses_g: masses round the circle [g], each above 0.
        roller_radius_mm: radius of the roller centres [mm], above 0.

    Returns:
        Mass times radius [g·mm], not below 0.

    Raises:
        BadInput: no roller, or a value not above 0.

    Example:
        >>> round(imbalance_g_mm([7.0, 7.0, 7.0, 6.0, 6.0, 6.0], 38.0), 6)
        76.0
    """
    _check_masses(masses_g)
    check_positive("roller_radius_mm", roller_radius_mm)
    slots = _slot_directions(len(masses_g))
    return roller_radius_mm * abs(sum(mass * slot for mass, slot in zip(masses_g, slots, strict=True)))


def imbalance_force_n(unbalance_g_mm: float, speed_rpm: float) -> float:
    """Rotating force [N] of an imbalance [g·mm] at a speed [r/min].

    Example:
        >>> round(imbalance_force_n(40.0, 7000.0), 1)
        21.5
    """
    speed = convert_rpm_to_rad_per_s(speed_rpm)
    return unbalance_g_mm * 1e-6 * speed * speed


def classify_imbalance(unbalance_g_mm: float, limits: BalanceLimits = BalanceLimits()) -> BalanceClass:
    """Class of an imbalance [g·mm]; the limits are judgement of this project.

    Example:
        >>> classify_imbalance(9.0).value, classify_imbalance(76.0).value
        ('fine', 'rearrange')
    """
    if unbalance_g_mm < limits.fine_g_mm - _EQUAL:
        return BalanceClass.FINE
    return BalanceClass.NOTE if unbalance_g_mm <= limits.note_g_mm + _EQUAL else BalanceClass.REARRANGE


def is_balance_possible(slot_count: int, heavy_count: int) -> bool:
    """Whether that many heavy rollers among equal slots can be balanced.

    They can if and only if both the heavy and the light count are sums of prime divisors of the slot count.

    Args:
        slot_count: number of slots, 2 or more.
        heavy_count: number of heavy rollers, 0 to the number of slots.

    Returns:
        True if some arrangement has no imbalance.

    Raises:
        BadInput: a count out of range.

    Source:
        published: "balanced centrifuge" rule, see the module.

    Example:
        >>> is_balance_possible(6, 3), is_balance_possible(8, 3)
        (True, False)
    """
    _check_counts(slot_count, heavy_count)
    primes = [prime for prime in range(2, slot_count + 1) if slot_count % prime == 0 and _is_prime(prime)]
    return _is_sum_of(primes, heavy_count) and _is_sum_of(primes, slot_count - heavy_count)


def list_balanced_counts(slot_count: int) -> tuple[int, ...]:
    """Every number of heavy rollers that can be balanced among equal slots.

    Example:
        >>> list_balanced_counts(6)
        (0, 2, 3, 4, 6)
    """
    _check_counts(slot_count, 0)
    return tuple(count for count in range(slot_count + 1) if is_balance_possible(slot_count, count))


def best_slots(slot_count: int, heavy_count: int) -> SlotPlan:
    """Best places for the heavy rollers of a two-mass set, by trying every choice.

    Args:
        slot_count: number of slots, 2 to 16.
        heavy_count: number of heavy rollers, 0 to the number of slots.

    Returns:
        Residual and every choice that reaches it.

    Raises:
        BadInput: a count out of range.

    Example:
        >>> best_slots(6, 2).arrangements
        ((1, 4), (2, 5), (3, 6))
        >>> round(best_slots(8, 3).residual, 3)
        0.414
    """
    _check_counts(slot_count, heavy_count)
    if slot_count > LARGEST_SLOT_COUNT:
        raise BadInput(
            f"Slot count '{slot_count}' is above {LARGEST_SLOT_COUNT}; count the rollers again.",
            field="slot_count",
        )
    directions = _slot_directions(slot_count)
    residuals = {
        slots: abs(sum(directions[slot - 1] for slot in slots))
        for slots in combinations(range(1, slot_count + 1), heavy_count)
    }
    least = min(residuals.values())
    best = tuple(slots for slots, residual in residuals.items() if residual < least + _EQUAL)
    return SlotPlan(0.0 if least < _EQUAL else least, best)


def best_order(masses_g: Sequence[float], roller_radius_mm: float) -> RollerOrder:
    """Order of weighed rollers with the least imbalance, by trying all orders with the first roller fixed.

    Args:
        masses_g: the masses as weighed [g], 1 to 9 rollers, each above 0.
        roller_radius_mm: radius of the roller centres [mm], above 0.

    Returns:
        The order and the imbalance left over; of equally good orders the one nearest to the list.

    Raises:
        BadInput: too many rollers, none, or a value not above 0.

    Example:
        >>> best_order([7.0, 7.0, 7.0, 6.0, 6.0, 6.0], 38.0).masses_g
        (7.0, 6.0, 7.0, 6.0, 7.0, 6.0)
    """
    _check_masses(masses_g)
    check_positive("roller_radius_mm", roller_radius_mm)
    if len(masses_g) > LARGEST_ORDER_COUNT:
        raise BadInput(
            f"Roller count '{len(masses_g)}' is above {LARGEST_ORDER_COUNT}; weigh one set at a time.",
            field="masses_g",
        )
    directions = _slot_directions(len(masses_g))
    least, best = float("inf"), tuple(range(len(masses_g)))
    for rest in permutations(range(1, len(masses_g))):
        residual = abs(
            masses_g[0]
            + sum(masses_g[roller] * directions[slot] for slot, roller in enumerate(rest, start=1))
        )
        if residual < least - _EQUAL:
            least, best = residual, (0, *rest)
    return RollerOrder(
        tuple(roller + 1 for roller in best),
        tuple(masses_g[roller] for roller in best),
        least * roller_radius_mm,
    )


def _slot_directions(slot_count: int) -> list[complex]:
    return [exp(2j * pi * slot / slot_count) for slot in range(slot_count)]


def _is_prime(number: int) -> bool:
    return all(number % divisor for divisor in range(2, number))


def _is_sum_of(parts: list[int], total: int) -> bool:
    """Whether the total is a sum of the parts, repeats allowed; an empty sum is 0."""
    reachable = [True] + [False] * total
    for amount in range(1, total + 1):
        reachable[amount] = any(part <= amount and reachable[amount - part] for part in parts)
    return reachable[total]


def _check_counts(slot_count: int, heavy_count: int) -> None:
    if slot_count < 2:
        raise BadInput(f"Slot count '{slot_count}' is below 2; count the rollers.", field="slot_count")
    if not 0 <= heavy_count <= slot_count:
        raise BadInput(
            f"Heavy count '{heavy_count}' does not lie between 0 and {slot_count}, the slots; count again.",
            field="heavy_count",
        )


def _check_masses(masses_g: Sequence[float]) -> None:
    if not masses_g:
        raise BadInput("Roller masses '' are empty; weigh at least one roller.", field="masses_g")
    for mass in masses_g:
        check_positive("mass_g", mass)

"""How often to order parts that share one order: a common cycle, and a whole multiple of it for each part.

Source: from memory: Silver's heuristic in Silver, Pyke & Thomas; checked against stockpyl 1.0.2.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import sqrt

from kb.errors import BadInput


@dataclass(frozen=True, slots=True)
class JointPart:
    """A part of a shared order: cost of its line, of a piece held for a year, pieces a year (above 0)."""

    line_cost_minor: float
    holding_per_piece_year_minor: float
    demand_per_year: float

    @property
    def value_flow(self) -> float:
        """Holding cost of a year's demand held for a year."""
        return self.holding_per_piece_year_minor * self.demand_per_year


@dataclass(frozen=True, slots=True)
class JointPlan:
    """Cycle of the shared order [years], each part's multiple of it and quantity, and the yearly cost."""

    cycle_years: float
    multiples: tuple[int, ...]
    quantities: tuple[float, ...]
    cost_per_year_minor: float


def compute_joint_plan(shared_cost_minor: float, parts: Sequence[JointPart]) -> JointPlan:
    """The plan for parts ordered together, in the order given.

    The part with the smallest line cost over value flow is on every order; the others on every
    m-th, m = √(own ratio / ratio of that part with the shared cost), rounded, at least 1.

    Args:
        shared_cost_minor: cost of an order as such, above all freight [minor units].
        parts: at least one, each with demand and holding cost above 0.

    Example:
        >>> costs = [(120, 160, 1), (840, 20, 1), (300, 50, 1)]
        >>> compute_joint_plan(600, [JointPart(*cost) for cost in costs]).multiples
        (1, 3, 1)
    """
    if not parts or min(part.value_flow for part in parts) <= 0.0:
        message = "A shared order needs at least one part, each with demand and holding cost above 0."
        raise BadInput(message, field="parts")
    first = min(parts, key=lambda part: part.line_cost_minor / part.value_flow)
    base = (shared_cost_minor + first.line_cost_minor) / first.value_flow
    multiples = tuple(
        1 if part is first else max(int(sqrt(part.line_cost_minor / part.value_flow / base) + 0.5), 1)
        for part in parts
    )
    pairs = list(zip(parts, multiples, strict=True))
    order_cost = shared_cost_minor + sum(part.line_cost_minor / m for part, m in pairs)
    holding = sum(m * part.value_flow for part, m in pairs)
    cycle = sqrt(2.0 * order_cost / holding)
    quantities = tuple(m * cycle * part.demand_per_year for part, m in pairs)
    return JointPlan(cycle, multiples, quantities, order_cost / cycle + holding * cycle / 2.0)

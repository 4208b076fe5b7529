"""Parts that stand in for each other: one history, one level, one position for the whole group.

A part at 0 is not short while its equivalent lies on the shelf.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from kb.rules.reorder.lot_size import SINGLE_PIECES, Packing, PriceBreak


@dataclass(frozen=True, slots=True)
class Offer:
    """What a supplier asks for a part; what is not known is None."""

    supplier: str
    unit_price_minor: int | None = None
    packing: Packing = SINGLE_PIECES
    lead_time_days: int | None = None
    price_breaks: tuple[PriceBreak, ...] = ()


@dataclass(frozen=True, slots=True)
class Member:
    """One part number of an interchange group at one location.

    ``committed`` are pieces set aside for jobs and not yet used; ``is_orderable`` is false for a
    part that is superseded or no longer made: it is sold down, never ordered.
    """

    maker: str
    part_number: str
    on_hand: int
    committed: int = 0
    on_order: int = 0
    is_orderable: bool = True
    offer: Offer | None = None

    @property
    def available(self) -> int:
        """Pieces the counter can sell now; negative when jobs are promised more than there is."""
        return self.on_hand - self.committed

    @property
    def position(self) -> int:
        """Available and on order together."""
        return self.available + self.on_order


def compute_pooled_position(members: Sequence[Member]) -> int:
    """Position of a group: the sum over its members.

    Example:
        >>> compute_pooled_position([Member("a", "1", 0), Member("b", "2", 4, on_order=2)])
        6
    """
    return sum([member.position for member in members])


def find_preferred_member(members: Sequence[Member]) -> Member | None:
    """The member to order: orderable, with an offer before one without, then by price, then by lead time.

    An unknown price or lead time ranks after every known one. None when every member is sold down.

    Example:
        >>> old = Member("a", "1", 0, is_orderable=False)
        >>> find_preferred_member([old]) is None
        True
        >>> find_preferred_member([old, Member("b", "2", 1)]).part_number
        '2'
    """

    def rank_member(member: Member) -> tuple[bool, float, float, str, str]:
        offer = member.offer
        price = offer.unit_price_minor if offer else None
        lead = offer.lead_time_days if offer else None
        return (
            offer is None,
            float("inf") if price is None else price,
            float("inf") if lead is None else lead,
            member.maker,
            member.part_number,
        )

    orderable = [member for member in members if member.is_orderable]
    return orderable[0] if len(orderable) == 1 else min(orderable, key=rank_member, default=None)


def compute_need(level: int, position: int) -> int:
    """Raw need: pieces missing to the level, 0 when there are enough.

    Example:
        >>> compute_need(14, 7), compute_need(7, 7)
        (7, 0)
    """
    return max(level - position, 0)


def compute_one_way_need(
    level_old_and_new: int, level_new_only: int, *, position_old: int, position_new: int
) -> int:
    """Raw need of a new number that replaces an old one, where the old one does not replace the new.

    The old pieces serve only those who may take either; who needs the new one must find enough of it.

    Args:
        level_old_and_new: level for the demand of both together [pieces].
        level_new_only: level for the demand that only the new number serves [pieces].
        position_old: position of the old number.
        position_new: position of the new number.

    Source: worked out in this project; no source.

    Example:
        >>> compute_one_way_need(9, 5, position_old=6, position_new=2)
        3
    """
    return max(level_old_and_new - position_old - position_new, level_new_only - position_new, 0)

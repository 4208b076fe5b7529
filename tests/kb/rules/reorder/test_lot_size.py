"""Economic quantity, price breaks, packs and caps; joint replenishment; equivalents."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.errors import BadInput
from kb.rules.reorder.equivalents import (
    Member,
    Offer,
    compute_one_way_need,
    find_preferred_member,
)
from kb.rules.reorder.joint_replenishment import JointPart, compute_joint_plan
from kb.rules.reorder.lot_size import (
    LotCosts,
    LotSize,
    Packing,
    PriceBreak,
    compute_economic_lot,
    compute_lot_size,
    compute_packed_quantity,
    find_unit_price,
    rank_price_breaks,
)

BREAKS = [PriceBreak(1, 75), PriceBreak(400, 72), PriceBreak(800, 68)]


@given(raw=st.integers(0, 500), pack=st.integers(1, 40), minimum=st.integers(0, 60))
def test_quantity_is_whole_packs_and_enough(raw, pack, minimum):
    quantity = compute_packed_quantity(raw, Packing(pack, minimum))
    assert quantity % pack == 0
    assert quantity == 0 if raw == 0 else max(raw, minimum) <= quantity < max(raw, minimum) + pack


@given(
    raw=st.integers(0, 60),
    packing=st.builds(Packing, st.integers(1, 40), st.integers(0, 60)),
    economic=st.floats(0, 200),
    rate=st.floats(0.01, 20),
)
def test_lot_is_whole_packs_and_never_less_than_the_need(raw, packing, economic, rate):
    lot = compute_lot_size(raw, packing, economic_quantity=economic, demand_per_month=rate)
    assert lot.quantity % packing.pack == 0
    assert lot.quantity >= compute_packed_quantity(raw, packing)
    assert lot.quantity <= max(12 * rate, compute_packed_quantity(raw, packing))
    assert (lot.quantity == 0) == (raw == 0)


@pytest.mark.parametrize(
    ("raw", "pack", "economic", "rate", "expected"),
    [
        (3, 1, 0.0, 2.0, LotSize(3, is_capped=False, is_beyond_cover_cap=False)),
        (3, 1, 8.4, 2.0, LotSize(8, is_capped=False, is_beyond_cover_cap=False)),
        # six months' demand is 12
        (3, 1, 12.0, 2.0, LotSize(12, is_capped=False, is_beyond_cover_cap=False)),
        (3, 1, 13.0, 2.0, LotSize(12, is_capped=True, is_beyond_cover_cap=False)),
        # packs of 10 may bring six months' 12 pieces up to 20, under the year's 24
        (3, 10, 30.0, 2.0, LotSize(20, is_capped=True, is_beyond_cover_cap=False)),
        # two packs of 14 would be 28, beyond the year's 24: one pack
        (3, 14, 30.0, 2.5, LotSize(28, is_capped=True, is_beyond_cover_cap=False)),
        (3, 14, 30.0, 2.3, LotSize(14, is_capped=True, is_beyond_cover_cap=False)),
        # one pack is more than a year: it must be, and says so
        (1, 100, 0.0, 2.0, LotSize(100, is_capped=False, is_beyond_cover_cap=True)),
        # a single piece of a part that hardly sells needs no warning
        (1, 1, 0.0, 0.01, LotSize(1, is_capped=False, is_beyond_cover_cap=False)),
        (0, 5, 9.0, 2.0, LotSize(0, is_capped=False, is_beyond_cover_cap=False)),
    ],
)
def test_lot_keeps_the_caps_on_cover(raw, pack, economic, rate, expected):
    # The caps of 6 and 12 months are common practice, no source.
    assert compute_lot_size(raw, Packing(pack), economic_quantity=economic, demand_per_month=rate) == expected


@pytest.mark.parametrize(("pack", "minimum"), [(0, 0), (1, -1)])
def test_unusable_packing_is_refused(pack, minimum):
    with pytest.raises(BadInput, match="a pack holds 1 piece or more"):
        Packing(pack, minimum)


def test_holding_that_costs_nothing_is_refused():
    with pytest.raises(BadInput, match="Holding cost '0' is not usable"):
        compute_economic_lot(10, 100, holding_per_piece_year_minor=0)


def test_band_whose_economic_quantity_lies_past_its_end_is_dropped():
    # EOQ at 75: √(2·800·40000/22.5) = 1687, past 400; at 72: 1721, past 800; at 68: 1771.
    ranked = rank_price_breaks(BREAKS, 40_000, costs=LotCosts(800, 0.3))
    assert [choice.band for choice in ranked] == [2]
    assert ranked[0].quantity == pytest.approx(1771.2, abs=0.1)


@pytest.mark.parametrize(("quantity", "price"), [(0, None), (1, 75), (399, 75), (400, 72), (900, 68)])
def test_price_is_that_of_the_highest_band_reached(quantity, price):
    assert find_unit_price(BREAKS, quantity) == price


def test_shared_order_of_parts_alike_takes_all_of_them_each_time():
    plan = compute_joint_plan(900, [JointPart(100, 50, 12)] * 3)
    assert plan.multiples == (1, 1, 1)
    # √(2 · 1200 / 1800) by hand
    assert plan.cycle_years == pytest.approx(1.1547005)


@pytest.mark.parametrize("parts", [[], [JointPart(100, 50, 0)]])
def test_shared_order_without_demand_is_refused(parts):
    with pytest.raises(BadInput, match="at least one part"):
        compute_joint_plan(900, parts)


def test_preferred_member_is_the_cheapest_then_the_quickest_then_by_name():
    dear = Member("a", "1", 0, offer=Offer("s", 900, lead_time_days=2))
    slow = Member("b", "2", 0, offer=Offer("s", 800, lead_time_days=20))
    quick = Member("c", "3", 0, offer=Offer("t", 800, lead_time_days=5))
    unpriced = Member("d", "4", 0, offer=Offer("t"))
    none = Member("e", "5", 0)
    old = Member("f", "6", 9, is_orderable=False, offer=Offer("t", 1, lead_time_days=1))
    order = []
    members = [none, unpriced, dear, slow, quick, old]
    while (best := find_preferred_member(members)) is not None:
        order.append(best.part_number)
        members.remove(best)
    assert order == ["3", "2", "1", "4", "5"]


@given(*[st.integers(0, 30)] * 2, *[st.integers(-5, 30)] * 2)
def test_one_way_need_covers_both_levels(pooled, new_only, old, new):
    need = compute_one_way_need(pooled, new_only, position_old=old, position_new=new)
    assert old + new + need >= pooled
    assert new + need >= new_only
    assert need == 0 or old + new + need == pooled or new + need == new_only

"""Lines of the low-stock list: figures, lists, reasons, sentences."""

from dataclasses import replace
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from kb.errors import BadInput
from kb.rules.reorder.demand_class import compute_demand_pattern
from kb.rules.reorder.demand_rate import DemandRate
from kb.rules.reorder.equivalents import Member, Offer
from kb.rules.reorder.level import ServiceKind, ServiceTarget
from kb.rules.reorder.lot_size import SINGLE_PIECES, LotCosts, Packing, PriceBreak
from kb.rules.reorder.low_stock import compute_stock_line, rank_stock_lines, replace_with_waiting
from kb.rules.reorder.season import SeasonIndex
from kb.rules.reorder.stock_group import GroupDemand, OpenOrder, StockGroup, StockPolicy
from kb.rules.reorder.stock_line import StockList, StockReason, StockUnit, StockWarning
from kb.rules.reorder.stock_sentence import format_quantity, list_covering_names
from kb.terms import Certainty

TODAY = date(2026, 4, 1)
# 3 a month, nine months of its own history, one borrowed: mean 1.6 over 16 days of April.
RATE = DemandRate(3.0, 1.2, 9.0, 1.0)
NEW_PART_RATE = DemandRate(3.0, 1.2, 0.0, 1.0)
OFFER = Offer("invented supplier", 1000, Packing(), 9)


def make_group(on_hand=2, committed=0, on_order=0, **changes):
    offer = changes.pop("offer", OFFER)
    rate = changes.pop("rate", RATE)
    policy = changes.pop("policy", StockPolicy())
    member = Member("own", "B-1", on_hand, committed, on_order, offer=offer)
    return StockGroup((member,), GroupDemand(rate), policy, **changes)


def list_codes(line):
    return [reason.code for reason in line.reasons]


def test_short_part_is_ordered_and_says_so_in_one_sentence():
    line = compute_stock_line(make_group(2, 1), TODAY)
    assert line.text == "2 on the shelf, 1 set aside, about 3 a month, supplier takes 9 days: order 3"
    assert line.listed_on is StockList.ORDER
    assert (line.stock.available, line.stock.position) == (1, 1)
    assert (line.target.level, line.target.reorder_point) == (4, 3)
    assert (line.order.raw_need, line.order.quantity) == (3, 3)
    assert line.cover.daily_rate == pytest.approx(0.1)
    assert line.cover.days_of_cover == pytest.approx(10.0)
    assert line.cover.arrives_if_ordered_today == date(2026, 4, 10)
    assert (line.certainty, line.order.supplier) == (Certainty.PROBABLE, "invented supplier")
    assert list_codes(line) == [StockReason.AT_OR_BELOW_REORDER_POINT]
    assert line.reasons[0].text == "1 here or on the way; order at 3 or fewer, up to 4."
    assert line.warnings == ()


def test_level_and_chance_of_running_short_equal_scipy():
    line = compute_stock_line(make_group(2, 1), TODAY)

    def law(days):
        mean = 3.0 * days / 30
        variance = 1.2 * mean * (1 + days / 30 / 10)
        return stats.nbinom(mean**2 / (variance - mean), mean / variance)

    assert line.target.level == law(16).ppf(0.95)
    assert line.cover.chance_short == pytest.approx(law(9).sf(1))


def test_part_at_its_level_is_not_listed():
    line = compute_stock_line(make_group(4), TODAY)
    assert (line.listed_on, line.order.quantity, line.reasons) == (None, 0, ())
    assert line.text.endswith("nothing to order")


def test_part_at_its_reorder_point_is_ordered():
    assert compute_stock_line(make_group(3), TODAY).listed_on is StockList.ORDER


def test_pieces_promised_beyond_the_shelf_are_ordered_and_sure():
    line = compute_stock_line(make_group(1, 4), TODAY)
    assert line.order.quantity == 7
    assert line.certainty is Certainty.SURE
    assert line.cover.days_of_cover == 0.0
    assert line.cover.expected_empty_on == TODAY
    texts = {reason.code: reason.text for reason in line.reasons}
    assert texts[StockReason.AVAILABLE_NEGATIVE] == "Jobs are promised 4, but there are only 1."
    assert texts[StockReason.RUNS_SHORT_BEFORE_ARRIVAL] == "Ordered today, pieces come on 2026-04-10."
    assert texts[StockReason.AT_OR_BELOW_REORDER_POINT].startswith("3 more promised than here or on the way;")


def test_empty_shelf_says_so():
    line = compute_stock_line(make_group(0), TODAY)
    assert list_codes(line)[0] is StockReason.OUT_OF_STOCK
    assert line.reasons[0].text == "None is left on the shelf."


def test_late_order_is_chased_not_ordered_again():
    group = make_group(1, on_order=5, open_orders=(OpenOrder(5, date(2026, 3, 29)),))
    line = compute_stock_line(group, TODAY)
    assert (line.listed_on, line.order.quantity, line.stock.late_days) == (StockList.CHASE, 0, 3)
    assert line.text.endswith(
        "5 on order, about 3 a month, supplier takes 9 days: ask the supplier when the order comes"
    )
    assert [reason.text for reason in line.reasons] == ["An open order is 3 days late; ask the supplier."]
    one_day = replace(group, open_orders=(OpenOrder(5, date(2026, 3, 31)),))
    assert compute_stock_line(one_day, TODAY).reasons[0].text.startswith("An open order is 1 day late")


@pytest.mark.parametrize(
    ("on_hand", "due_on", "listed_on"),
    [
        (1, date(2026, 4, 11), None),
        (1, date(2026, 4, 12), StockList.CHASE),
        (0, date(2026, 4, 1), StockList.CHASE),
        (0, None, StockList.CHASE),
        (1, None, None),
    ],
)
def test_order_that_comes_after_the_shelf_is_empty_is_chased(on_hand, due_on, listed_on):
    # One piece lasts ten days, to 11 April.
    line = compute_stock_line(make_group(on_hand, on_order=5, open_orders=(OpenOrder(5, due_on),)), TODAY)
    assert line.listed_on is listed_on
    assert line.stock.earliest_arrival == due_on
    is_short = StockReason.RUNS_SHORT_BEFORE_ARRIVAL in list_codes(line)
    assert is_short == (listed_on is StockList.CHASE and due_on is not None and due_on > TODAY)
    if is_short and on_hand:
        assert line.reasons[0].text.endswith(
            "expected empty on 2026-04-11; the pieces on order are promised for 2026-04-12."
        )


def test_order_without_pieces_left_is_never_late():
    line = compute_stock_line(make_group(9, open_orders=(OpenOrder(0, date(2026, 1, 1)),)), TODAY)
    assert (line.stock.late_days, line.listed_on) == (0, None)


def test_equivalent_on_the_shelf_covers_a_member_at_zero():
    old = Member("own", "B-0", 0, is_orderable=False)
    group = replace(make_group(6), members=(old, *make_group(6).members))
    line = compute_stock_line(group, TODAY)
    assert (line.part_number, line.pooled_with, line.listed_on) == ("B-1", (("own", "B-0"),), None)
    assert [reason.text for reason in line.reasons] == [
        "Nothing free is left of own B-0; own B-1 does the same."
    ]


def test_no_part_is_covered_by_itself_in_the_sentence_on_it():
    """The page of a part shows the line of all that count with it: each name stands once, on its own side."""
    names = [("A", "1", 5), ("B", "2", 0), ("C", "3", 6)]
    few = StockGroup(
        tuple(Member(maker, number, count, 0, 0, offer=OFFER) for maker, number, count in names),
        GroupDemand(DemandRate(0.1, 0.1, 9.0, 1.0)),
    )
    many = replace(
        few, members=(*few.members, *(Member("D", str(n), 0, 0, 0, offer=OFFER) for n in range(3)))
    )

    def say(group):
        reasons = compute_stock_line(group, TODAY).reasons
        return next(item.text for item in reasons if item.code is StockReason.COVERED_BY_EQUIVALENT)

    assert say(few) == "Nothing free is left of B 2; A 1 and C 3 do the same."
    assert say(many).startswith("Nothing free is left of 4 of the parts that are counted here together; A 1")


def test_pooled_group_that_is_short_orders_the_member_that_can_be_ordered():
    old = Member("own", "B-0", 1, is_orderable=False)
    group = replace(make_group(1), members=(old, *make_group(1).members))
    line = compute_stock_line(group, TODAY)
    assert (line.part_number, line.order.quantity, line.listed_on) == ("B-1", 2, StockList.ORDER)
    assert StockReason.COVERED_BY_EQUIVALENT not in list_codes(line)


def test_superseded_part_is_never_ordered():
    old = Member("own", "B-0", 1, is_orderable=False)
    line = compute_stock_line(replace(make_group(), members=(old,)), TODAY)
    assert (line.listed_on, line.order.quantity, line.order.supplier) == (None, 0, None)
    assert StockReason.SUPERSEDED_SELL_DOWN in list_codes(line)


def test_superseded_part_that_jobs_were_promised_needs_a_person():
    old = Member("own", "B-0", 1, 2, is_orderable=False)
    line = compute_stock_line(replace(make_group(), members=(old,)), TODAY)
    assert (line.listed_on, line.order.quantity, line.order.needs_person) == (StockList.ORDER, 0, True)
    assert line.text.endswith("short, but no number here can be ordered")


def test_one_way_supersession_keeps_enough_of_the_new_number():
    old = Member("own", "B-0", 9, is_orderable=False)
    members = (old, *make_group(1).members)
    both_ways = replace(make_group(), members=members)
    one_way = replace(both_ways, demand=GroupDemand(RATE, new_only_rate=DemandRate(2.0, 1.2, 9.0, 1.0)))
    assert compute_stock_line(both_ways, TODAY).order.quantity == 0
    # Level for the new number alone: mean 1.07 over 16 days, 3 pieces (scipy); 1 is there.
    assert compute_stock_line(one_way, TODAY).order.quantity == 2
    manual = replace(one_way, policy=StockPolicy(manual_level=12))
    assert compute_stock_line(manual, TODAY).order.quantity == 2


def test_no_history_is_suggested_up_to_one_pack_and_never_ordered_alone():
    offer = replace(OFFER, packing=Packing(2))
    line = compute_stock_line(make_group(0, rate=NEW_PART_RATE, offer=offer), TODAY)
    assert (line.order.raw_need > 2, line.order.quantity, line.order.needs_person) == (True, 2, True)
    assert StockReason.NO_HISTORY in list_codes(line)
    assert line.warnings == (StockWarning.LOT_CAPPED, StockWarning.MOSTLY_BORROWED_RATE)
    assert line.certainty is Certainty.UNSURE


def test_no_history_still_orders_what_jobs_were_promised():
    line = compute_stock_line(make_group(0, 3, rate=NEW_PART_RATE), TODAY)
    assert line.order.quantity == 3


def test_level_set_by_hand_is_kept_and_said():
    line = compute_stock_line(make_group(2, policy=StockPolicy(manual_level=7), rate=NEW_PART_RATE), TODAY)
    assert (line.target.level, line.target.reorder_point, line.order.quantity) == (7, 6, 5)
    assert (line.target.is_manual, line.certainty, line.order.needs_person) == (True, Certainty.SURE, False)
    assert StockReason.MANUAL_LEVEL in list_codes(line)
    # By scipy: loss of mean 1.6, variance 2.944 less loss of mean 0.9, variance 1.404, over 0.7.
    assert line.target.fill_rate == pytest.approx(0.97697, abs=1e-5)


def test_level_set_by_hand_needs_no_demand():
    line = compute_stock_line(make_group(2, policy=StockPolicy(manual_level=3), rate=None), TODAY)
    assert (line.order.quantity, line.target.fill_rate) == (1, None)
    assert list_codes(line) == [StockReason.AT_OR_BELOW_REORDER_POINT, StockReason.MANUAL_LEVEL]
    assert "demand not known" in line.text


def test_unknown_demand_gives_no_level_and_orders_only_what_is_promised():
    line = compute_stock_line(make_group(1, rate=None), TODAY)
    assert (line.target.level, line.cover.chance_short, line.listed_on) == (None, None, None)
    assert (line.cover.days_of_cover, line.cover.expected_empty_on) == (None, None)
    assert list_codes(line) == [StockReason.DEMAND_NOT_KNOWN]
    assert line.certainty is Certainty.UNSURE
    promised = compute_stock_line(make_group(1, 2, rate=None), TODAY)
    assert (promised.order.quantity, promised.listed_on) == (1, StockList.ORDER)


def test_unknown_lead_time_gives_the_least_level_and_says_so():
    line = compute_stock_line(make_group(0, offer=replace(OFFER, lead_time_days=None)), TODAY)
    known = compute_stock_line(make_group(0), TODAY)
    assert 0 < line.target.level < known.target.level
    assert (line.target.fill_rate, line.cover.chance_short, line.cover.arrives_if_ordered_today) == (
        None,
    ) * 3
    assert (line.certainty, line.listed_on) == (Certainty.UNSURE, StockList.ORDER)
    assert StockReason.LEAD_TIME_NOT_KNOWN in list_codes(line)
    assert "supplier's time not known" in line.text


def test_part_without_a_supplier_is_suggested_to_a_person():
    line = compute_stock_line(
        make_group(0, offer=None, policy=StockPolicy(lot_costs=LotCosts(800, 0.25))), TODAY
    )
    assert (line.order.needs_person, line.order.supplier, line.order.unit_price_minor) == (True, None, None)
    assert line.order.quantity == line.order.raw_need > 0


def test_economic_quantity_and_price_break_enlarge_the_line():
    costs = StockPolicy(lot_costs=LotCosts(200, 0.25))
    # EOQ √(2·200·36/250) = 7.6
    plain = compute_stock_line(make_group(2, policy=costs), TODAY)
    assert (plain.order.raw_need, plain.order.quantity, plain.order.unit_price_minor) == (2, 8, 1000)
    breaks = replace(OFFER, price_breaks=(PriceBreak(1, 1000), PriceBreak(10, 800)))
    broken = compute_stock_line(make_group(2, policy=costs, offer=breaks), TODAY)
    assert (broken.order.quantity, broken.order.unit_price_minor) == (10, 800)
    unpriced = compute_stock_line(
        make_group(2, policy=costs, offer=replace(OFFER, unit_price_minor=None)), TODAY
    )
    assert unpriced.order.quantity == 2


def test_warnings_name_what_was_cut_and_what_the_caller_knows():
    slow_supplier = replace(OFFER, packing=Packing(50), lead_time_days=365)
    line = compute_stock_line(
        make_group(
            0,
            rate=DemandRate(1.0, 3.0, 9.0, 1.0),
            offer=slow_supplier,
            policy=StockPolicy(ServiceTarget(0.99, ServiceKind.FILL_RATE)),
            warnings=(StockWarning.EXCLUDED_DEMAND,),
        ),
        TODAY,
    )
    assert line.warnings == (
        StockWarning.EXCLUDED_DEMAND,
        StockWarning.LEVEL_CAPPED,
        StockWarning.PACK_BEYOND_A_YEAR,
    )
    assert (line.target.level, line.order.quantity) == (12, 50)


def test_part_not_worth_stocking_is_not_listed_when_empty():
    line = compute_stock_line(make_group(0, rate=DemandRate(0.02, 1.0, 9.0, 1.0)), TODAY)
    assert (line.target.level, line.listed_on, line.reasons) == (0, None, ())
    assert "less than 1 a year" in line.text


def test_cover_beyond_ten_years_has_no_date():
    line = compute_stock_line(make_group(9, rate=DemandRate(0.02, 1.0, 9.0, 1.0)), TODAY)
    assert line.cover.days_of_cover > 3650
    assert line.cover.expected_empty_on is None


def test_season_ahead_shortens_the_cover():
    spring = SeasonIndex((0.5, 0.5, 0.5, 2.0, 2.0, 2.0, 1.0, 1.0, 1.0, 0.5, 0.5, 0.5))
    group = replace(make_group(6), demand=GroupDemand(RATE, spring, compute_demand_pattern([3, 2, 4])))
    line = compute_stock_line(group, TODAY)
    assert line.cover.days_of_cover == pytest.approx(30.0)
    assert line.target.level > 4
    assert line.pattern.demand_class == "smooth"


def test_sets_are_counted_as_sets():
    line = compute_stock_line(make_group(1, unit=StockUnit.SET), TODAY)
    assert line.text.startswith("1 set on the shelf, about 3 a month")
    assert line.text.endswith("order 3 sets")
    assert format_quantity(3, StockUnit.PIECE) == "3"


def test_supplier_of_one_day_is_said_in_the_singular():
    line = compute_stock_line(make_group(0, offer=replace(OFFER, lead_time_days=1)), TODAY)
    assert "supplier takes 1 day:" in line.text


def test_lines_stand_by_chance_times_margin_and_unknown_ones_last():
    def make_line(number, on_hand, margin, **changes):
        group = make_group(on_hand, unit_margin_minor=margin, **changes)
        member = replace(group.members[0], part_number=number)
        return compute_stock_line(replace(group, members=(member,)), TODAY)

    lines = [
        make_line("unknown lead", 0, 900, offer=replace(OFFER, lead_time_days=None)),
        make_line("unknown margin", 0, None),
        make_line("likely, small", 0, 100),
        make_line("unlikely, small", 2, 100),
        make_line("likely, large", 0, 900),
        make_line("not listed", 9, 900),
    ]
    ranked = [line.part_number for line in rank_stock_lines(lines, StockList.ORDER)]
    assert ranked == ["likely, large", "likely, small", "unlikely, small", "unknown margin", "unknown lead"]


def test_line_that_waits_for_its_supplier_says_so():
    line = replace_with_waiting(compute_stock_line(make_group(0), TODAY))
    assert line.reasons[-1].code is StockReason.WAITING_FOR_SUPPLIER_MINIMUM
    assert line.reasons[-1].text == "Waiting until the supplier's order is large enough."
    assert line.order.quantity == 4


def test_group_without_a_part_is_refused():
    with pytest.raises(BadInput, match="at least one part"):
        StockGroup((), GroupDemand(RATE))


def test_several_covering_parts_are_named():
    assert list_covering_names([("own", "B-1"), ("other", "C-2")]) == "own B-1 and other C-2"


@given(
    on_hand=st.integers(0, 12),
    committed=st.integers(0, 6),
    on_order=st.integers(0, 6),
    pack=st.integers(1, 8),
    rate=st.builds(DemandRate, st.floats(0.01, 20), st.floats(1, 4), st.floats(0, 10), st.floats(0.05, 24)),
)
def test_suggestion_is_whole_packs_and_lists_follow_the_position(on_hand, committed, on_order, pack, rate):
    line = compute_stock_line(
        make_group(on_hand, committed, on_order, rate=rate, offer=replace(OFFER, packing=Packing(pack))),
        TODAY,
    )
    assert line.order.quantity % pack == 0
    assert (line.listed_on is StockList.ORDER) == (line.stock.position <= line.target.reorder_point)
    assert (line.order.quantity > 0) == (line.listed_on is StockList.ORDER)
    assert 0.0 <= line.cover.chance_short <= 1.0


def test_more_than_needed_says_why():
    """Packs and price breaks of the supplier, and the lot that saves lines."""

    def order(packing=SINGLE_PIECES, breaks=(), costs=None):
        offer = replace(OFFER, packing=packing, price_breaks=breaks)
        line = compute_stock_line(make_group(2, 1, offer=offer, policy=StockPolicy(lot_costs=costs)), TODAY)
        return line.order.quantity, [(reason.code, reason.text) for reason in line.reasons[1:]]

    assert order() == (3, [])
    assert order(Packing(5, 8)) == (
        10,
        [(StockReason.ROUNDED_TO_PACK, "Needed 2; sold in packs of 5, 10 at least.")],
    )
    assert order(Packing(1, 4)) == (4, [(StockReason.ROUNDED_TO_PACK, "Needed 3; sold from 4 on.")])
    # 36 a year, 4.00 a line, 25 % of 10.00: the square root of 2 * 4 * 36 / 2.5 is 10.7.
    assert order(costs=LotCosts(400, 0.25)) == (
        11,
        [(StockReason.LARGER_LOT, "Needed 3; 11 at once save an order line soon after.")],
    )
    breaks = (PriceBreak(1, 1000), PriceBreak(12, 800))
    assert order(breaks=breaks, costs=LotCosts(50, 0.25)) == (
        12,
        [(StockReason.LOWER_PRICE, "Needed 3; 12 at once come at a lower price each.")],
    )


def test_a_price_break_beyond_half_a_year_is_left_alone_not_cut_down():
    """At 3 a month six months are 18 pieces: a break at 20 would be cut to 18 and its price not reached."""
    breaks = (PriceBreak(1, 1000), PriceBreak(20, 800))
    offer = replace(OFFER, price_breaks=breaks)
    line = compute_stock_line(
        make_group(2, 1, offer=offer, policy=StockPolicy(lot_costs=LotCosts(50, 0.25))), TODAY
    )
    # 36 a year, 0.50 a line, 25 % of 10.00: the square root of 2 * 0.5 * 36 / 2.5 is 3.8.
    assert (line.order.quantity, line.order.unit_price_minor) == (4, 1000)


def test_a_smallest_order_for_more_than_a_year_is_left_to_a_person_unless_it_is_a_trifle():
    """Two a year: beyond a year are 6 of 8 pieces, worth 60.00 or 0.60; 40 lines of 0.50 are 20.00."""
    rate = DemandRate(2.0 / 12.0, 1.2, 30.0, 1.0)
    policy = StockPolicy(lot_costs=LotCosts(50, 0.25))

    def order(price):
        offer = replace(OFFER, unit_price_minor=price, packing=Packing(1, 8), lead_time_days=60)
        return compute_stock_line(make_group(0, rate=rate, offer=offer, policy=policy), TODAY)

    assert (order(1000).order.quantity, order(1000).order.needs_person) == (8, True)
    assert (order(10).order.quantity, order(10).order.needs_person) == (8, False)
    assert order(10).reasons[-1].text == "Needed 2; sold from 8 on; that lasts about 4 years."


def test_where_no_time_is_known_one_piece_is_kept_of_what_is_asked_for_twice_a_year():
    def line(per_year):
        rate = DemandRate(per_year / 12.0, 1.2, 30.0, 1.0)
        return compute_stock_line(make_group(0, rate=rate, offer=None), TODAY)

    assert (line(1.9).target.level, line(1.9).listed_on) == (0, None)
    assert (line(2.1).target.level, line(2.1).listed_on) == (1, StockList.ORDER)
    assert line(2.1).order.needs_person
    assert line(2.1).reasons[1].text == "Nothing here or on the way; order when none is left, up to 1."


def test_parts_that_nobody_asked_for_come_last():
    tried, untried = make_group(0), make_group(0, rate=NEW_PART_RATE)
    lines = [compute_stock_line(group, TODAY) for group in (untried, tried)]
    assert [line.is_untried for line in lines] == [True, False]
    assert rank_stock_lines(lines, StockList.ORDER) == lines[::-1]
    assert not compute_stock_line(make_group(0, 1, rate=NEW_PART_RATE), TODAY).is_untried

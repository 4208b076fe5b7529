"""Every check value of ``reorder_check_values.json``, each with the source written beside it there.

Where the program has no use for a textbook method (normal demand, known demand ahead), the method
stands here, on top of the program's own economic quantity, quantile and expected shortage where it
can; the tests after the table then hold the program against the same figures.
"""

import json
from itertools import accumulate
from math import sqrt
from pathlib import Path
from statistics import NormalDist

import pytest
from scipy.integrate import quad

from kb.rules.reorder.demand_class import compute_demand_pattern
from kb.rules.reorder.demand_rate import (
    PartTypePrior,
    compute_demand_over,
    compute_demand_rate,
    compute_demand_sums,
)
from kb.rules.reorder.equivalents import (
    Member,
    compute_need,
    compute_one_way_need,
    compute_pooled_position,
    find_preferred_member,
)
from kb.rules.reorder.group_figures import compute_days_of_cover
from kb.rules.reorder.joint_replenishment import JointPart, compute_joint_plan
from kb.rules.reorder.level import (
    add_lead_time_variance,
    compute_fill_rate,
    compute_level,
    compute_level_for_fill_rate,
)
from kb.rules.reorder.lot_size import (
    LotCosts,
    Packing,
    PriceBreak,
    compute_economic_lot,
    compute_packed_quantity,
    rank_price_breaks,
)
from kb.rules.reorder.negative_binomial import (
    Demand,
    compute_expected_short,
    compute_probability_at_most,
    compute_quantile,
)
from kb.rules.reorder.supplier_minimum import ProposedLine, SupplierTerms, compare_order_and_wait

CASES = json.loads(Path(__file__).with_name("reorder_check_values.json").read_text(encoding="utf-8"))["cases"]
STANDARD_NORMAL = NormalDist()


def answer_eoq(given):
    lot = compute_economic_lot(
        given["demand_rate"], given["order_cost"], holding_per_piece_year_minor=given["holding_cost"]
    )
    return {"quantity": lot.quantity, "cost": lot.cost_per_year_minor}


def answer_eoq_backorders(given):
    lot = answer_eoq(given)
    held, short = given["holding_cost"], given["stockout_cost"]
    share = short / (held + short)
    return {
        "quantity": lot["quantity"] / sqrt(share),
        "backordered_fraction": 1.0 - share,
        "cost": lot["cost"] * sqrt(share),
    }


def answer_all_units_breaks(given):
    # Prices of the example are in whole currency units with two decimals: a hundred minor units each.
    breaks = [
        PriceBreak(start, round(100 * price))
        for start, price in zip(given["break_from"], given["unit_price"], strict=True)
    ]
    costs = LotCosts(round(100 * given["order_cost"]), given["holding_rate"])
    best = rank_price_breaks(breaks, given["demand_rate"], costs=costs)[0]
    return {
        "quantity": best.quantity,
        "price_band": best.band,
        "total_cost": best.cost_per_year_minor / 100,
    }


def answer_incremental_breaks(given):
    starts, prices, rate = given["break_from"], given["unit_price"], given["holding_rate"]
    choices, extra = [], 0.0
    for band, (start, price) in enumerate(zip(starts, prices, strict=True)):
        if band:
            extra += (prices[band - 1] - price) * start
        lot = compute_economic_lot(
            given["demand_rate"], given["order_cost"] + extra, holding_per_piece_year_minor=rate * price
        )
        end = starts[band + 1] if band + 1 < len(starts) else float("inf")
        if start <= lot.quantity < end:
            cost = price * given["demand_rate"] + rate * extra / 2 + lot.cost_per_year_minor
            choices.append({"quantity": lot.quantity, "price_band": band, "total_cost": cost})
    return min(choices, key=lambda choice: choice["total_cost"])


def answer_joint_replenishment(given):
    columns = (given["line_cost"], given["holding_cost"], given["demand_rate"])
    parts = [JointPart(*values) for values in zip(*columns, strict=True)]
    plan = compute_joint_plan(given["shared_order_cost"], parts)
    return {
        "quantities": list(plan.quantities),
        "base_cycle": plan.cycle_years,
        "multiples": list(plan.multiples),
        "cost": plan.cost_per_year_minor,
    }


def answer_lot_sizing(given):
    demand, best = given["demand"], [(0.0, [])]
    for end in range(1, len(demand) + 1):
        plans = []
        for start in range(end):
            held = sum(k * pieces for k, pieces in enumerate(demand[start:end]))
            cost = best[start][0] + given["order_cost"] + given["holding_cost"] * held
            plans.append((cost, best[start][1] + [sum(demand[start:end])] + [0] * (end - start - 1)))
        best.append(min(plans))
    return {"orders": best[-1][1], "cost": best[-1][0]}


def normal_loss(z):
    return STANDARD_NORMAL.pdf(z) - z * (1.0 - STANDARD_NORMAL.cdf(z))


def answer_normal_loss(given):
    short = normal_loss(given["z"])
    return {"short": short, "over": given["z"] + short}


def answer_base_stock_normal(given):
    held, short = given["holding_cost"], given["stockout_cost"]
    periods = given.get("lead_time", 0) + 1
    z = STANDARD_NORMAL.inv_cdf(short / (held + short))
    sd = given["sd"] * sqrt(periods)
    cost = held * sd * (z + normal_loss(z)) + short * sd * normal_loss(z)
    return {"level": given["mean"] * periods + z * sd, "cost": cost}


def period_cost(given, level, mean):
    """Cost of holding and shortage of a period that starts with ``level``, from the program's loss."""
    short = compute_expected_short(Demand(mean, mean), level)
    return given["holding_cost"] * (level - mean + short) + given["stockout_cost"] * short


def answer_newsvendor_poisson(given):
    mean = given["mean"]
    ratio = given["stockout_cost"] / (given["holding_cost"] + given["stockout_cost"])
    level = compute_quantile(Demand(mean, mean), ratio)
    return {"level": level, "cost": period_cost(given, level, mean)}


def answer_s_s_poisson(given):
    """All pairs tried; the cost of a pair by renewal (Zheng and Federgruen 1991, from memory)."""
    demand = Demand(given["mean"], given["mean"])
    cumulative = [compute_probability_at_most(demand, k) for k in range(20)]
    share = [high - low for low, high in zip([0.0, *cumulative], cumulative, strict=False)]
    renewals = []
    for j in range(15):
        arrived = sum(share[k] * renewals[j - k] for k in range(1, j + 1))
        renewals.append(((j == 0) + arrived) / (1.0 - share[0]))
    length = list(accumulate(renewals))
    cost_at = {y: period_cost(given, y, given["mean"]) for y in range(-5, 25)}
    pairs = []
    for s in range(-5, 10):
        for gap in range(1, 15):
            running = sum(renewals[j] * cost_at[s + gap - j] for j in range(gap))
            pairs.append(((given["order_cost"] + running) / length[gap - 1], s, s + gap))
    cost, s, up_to = min(pairs)
    return {"s": s, "S": up_to, "cost": cost}


def answer_power_approximation(given):
    """Ehrhardt and Mosier 1984, from memory, without their correction for small order quantities."""
    mean, sd, held, short = given["mean"], given["sd"], given["holding_cost"], given["stockout_cost"]
    variation = 1 + sd**2 / mean**2
    quantity = 1.3 * mean**0.494 * (given["order_cost"] / held) ** 0.506 * variation**0.116
    z = sqrt(quantity * held / (sd * short))
    s = 0.973 * mean + sd * (0.183 / z + 1.063 - 2.192 * z)
    return {"s": s, "S": s + quantity}


def answer_r_q_cost(given):
    mean, sd = given["mean"] * given["lead_time"], given["sd"] * sqrt(given["lead_time"])
    held, short = given["holding_cost"], given["stockout_cost"]

    def cost_at(level):
        missing = sd * normal_loss((level - mean) / sd)
        return held * (level - mean + missing) + short * missing

    area = quad(cost_at, given["r"], given["r"] + given["Q"], epsabs=1e-9)[0]
    return {"cost": (given["order_cost"] * given["mean"] + area) / given["Q"]}


def answer_r_q_safety_stock(given):
    lot = compute_economic_lot(
        given["mean"], given["order_cost"], holding_per_piece_year_minor=given["holding_cost"]
    )
    z = STANDARD_NORMAL.inv_cdf(given["stockout_cost"] / (given["stockout_cost"] + given["holding_cost"]))
    sd = given["sd"] * sqrt(given["lead_time"])
    return {"r": given["mean"] * given["lead_time"] + z * sd, "Q": lot.quantity}


def answer_r_q_poisson(given):
    over_lead_time = given["mean"] * given["lead_time"]
    pairs = []
    for r in range(-3, 12):
        costs = [period_cost(given, r + k, over_lead_time) for k in range(1, 25)]
        pairs += [
            ((given["order_cost"] * given["mean"] + total) / (k + 1), r, k + 1)
            for k, total in enumerate(accumulate(costs))
        ]
    cost, r, quantity = min(pairs)
    return {"r": r, "Q": quantity, "cost": cost}


def answer_loss(given):
    variance = given["sd"] ** 2 if "sd" in given else given["mean"]
    short = compute_expected_short(Demand(given["mean"], variance), given["level"])
    return {"short": short, "over": given["level"] - given["mean"] + short}


def answer_quantile(given):
    demand = Demand(given["mean"], given["variance"])
    level = compute_quantile(demand, given["service"])
    return {
        "level": level,
        "cdf_below": compute_probability_at_most(demand, level - 1),
        "cdf_at": compute_probability_at_most(demand, level),
    }


def answer_fill_rate(given):
    lead_time = Demand(given["mean_l"], given["var_l"])
    protection = Demand(given["mean_h"], given["var_h"])
    level = compute_level_for_fill_rate(given["fill"], lead_time, protection=protection)
    return {
        "level": level,
        "fill_at_level": compute_fill_rate(level, lead_time, protection=protection),
        "fill_below": compute_fill_rate(level - 1, lead_time, protection=protection),
    }


def answer_croston(given, baselines):
    croston = baselines.forecast_croston(given["history"], given["alpha"])
    return {"croston": croston, "sba": baselines.forecast_sba(given["history"], given["alpha"])}


def answer_demand_class(given):
    pattern = compute_demand_pattern(given["history"])
    return {
        "adi": pattern.months_between,
        "cv2": pattern.squared_variation,
        "demand_class": pattern.demand_class.value,
    }


def answer_shrunk_level(given):
    assert given["dispersion_strength"] == 12.0
    sums = compute_demand_sums(given["history"], given["exposure"], decay=given["decay"])
    prior = PartTypePrior(given["prior_rate"], given["prior_months"], *given["dispersion_line"], 0)
    rate = compute_demand_rate(sums, prior)
    demand = compute_demand_over(rate, given["horizon_exposure"])
    return {
        "weighted_sales": sums.pieces,
        "weighted_exposure": sums.exposure_months,
        "rate": rate.rate_per_month,
        "dispersion": rate.dispersion,
        "mean": demand.mean,
        "variance": demand.variance,
        "level": compute_level(demand, given["service"]),
    }


def answer_suggested_quantity(given):
    member = Member("own", "1", given["on_hand"], given["committed"], given["on_order"])
    raw = compute_need(given["level"], member.position)
    suggested = compute_packed_quantity(raw, Packing(given["pack"], given["moq"]))
    return {
        "available": member.available,
        "position": member.position,
        "raw": raw,
        "suggested": suggested,
    }


def answer_equivalence_group(given):
    members = [
        Member(
            "own",
            str(k),
            row["on_hand"],
            row["committed"],
            row["on_order"],
            is_orderable=not row["superseded"],
        )
        for k, row in enumerate(given["members"])
    ]
    position = compute_pooled_position(members)
    raw = compute_need(given["level"], position)
    return {
        "position": position,
        "suggested": compute_packed_quantity(raw, Packing(given["pack"], given["moq"])),
        "order_member": members.index(find_preferred_member(members)),
    }


def answer_days_of_cover(given):
    return {"days": compute_days_of_cover(given["available"], given["daily_rate"])}


def answer_one_way(given):
    raw = compute_one_way_need(
        given["level_old_and_new"],
        given["level_new_only"],
        position_old=given["position_old"],
        position_new=given["position_new"],
    )
    return {"raw": raw, "suggested": compute_packed_quantity(raw, Packing(given["pack"]))}


def answer_supplier_order(given):
    lines = [
        ProposedLine(
            Demand(part["mean_h"], part["var_h"]),
            part["position"],
            part["quantity"],
            unit_cost_minor=round(100 * part["unit_cost"]),
            unit_margin_minor=round(100 * part["unit_margin"]),
        )
        for part in given["parts"]
    ]
    terms = SupplierTerms(round(100 * given["free_freight_from"]), round(100 * given["freight"]))
    answer = compare_order_and_wait(lines, terms)
    return {
        "order_value": answer.order_value_minor / 100,
        "cost_of_waiting": answer.cost_of_waiting_minor / 100,
        "decision": answer.decision.value,
    }


def answer_lead_time_variability(given):
    demand = Demand(given["rate"] * given["h"], given["var_month"] * given["h"])
    spread = add_lead_time_variance(demand, given["rate"], lead_time_sd_months=given["lead_time_sd"])
    return {"mean": spread.mean, "variance": spread.variance}


ANSWERS = {
    "eoq": answer_eoq,
    "eoq_backorders": answer_eoq_backorders,
    "eoq_all_units_breaks": answer_all_units_breaks,
    "eoq_incremental_breaks": answer_incremental_breaks,
    "joint_replenishment": answer_joint_replenishment,
    "lot_sizing": answer_lot_sizing,
    "newsvendor_normal": answer_base_stock_normal,
    "base_stock_normal": answer_base_stock_normal,
    "newsvendor_poisson": answer_newsvendor_poisson,
    "s_S_poisson": answer_s_s_poisson,
    "s_S_power_approximation": answer_power_approximation,
    "r_Q_cost": answer_r_q_cost,
    "r_Q_eoq_plus_safety_stock": answer_r_q_safety_stock,
    "r_Q_poisson": answer_r_q_poisson,
    "normal_loss": answer_normal_loss,
    "poisson_loss": answer_loss,
    "negative_binomial_loss": answer_loss,
    "demand_quantile": answer_quantile,
    "fill_rate_level": answer_fill_rate,
    "demand_class": answer_demand_class,
    "shrunk_level": answer_shrunk_level,
    "suggested_quantity": answer_suggested_quantity,
    "equivalence_group": answer_equivalence_group,
    "days_of_cover": answer_days_of_cover,
    "one_way_supersession": answer_one_way,
    "supplier_order": answer_supplier_order,
    "lead_time_variability": answer_lead_time_variability,
}


@pytest.mark.parametrize("case", CASES, ids=[case["id"] for case in CASES])
def test_check_value_is_reached(case, baselines):
    if case["topic"] == "croston":
        got = answer_croston(case["inputs"], baselines)
    else:
        got = ANSWERS[case["topic"]](case["inputs"])
    for name, value in case["expected"].items():
        expected = pytest.approx(value, rel=case["tolerance"]) if isinstance(value, float | list) else value
        assert got[name] == expected, f"{case['id']}: {name}; source: {case['source']}"


def test_all_check_values_are_there_and_name_their_source():
    assert len(CASES) == 56
    assert all(case["source"] for case in CASES)


def test_large_poisson_quantile_has_the_z_of_the_normal_newsvendor():
    # Snyder & Shen 2nd ed., Examples 4.1/4.3: level 56.604 for mean 50, sd 8, so z = 0.8255; 0.7 / 0.88.
    level = compute_quantile(Demand(1e6, 1e6), 0.7 / 0.88)
    assert (level - 1e6) / 1e3 == pytest.approx((56.60395592743389 - 50) / 8, abs=2e-3)


def test_large_poisson_shortage_is_the_normal_loss():
    # stockpyl 1.0.2 documentation: standard normal loss at z = 1.3 is 0.045528.
    short = compute_expected_short(Demand(40_000.0, 40_000.0), 40_260)
    assert short / 200 == pytest.approx(0.04552796208651397, rel=5e-3)


def test_economic_quantity_is_near_the_optimal_first_order_of_known_demand():
    # Snyder & Shen 2nd ed., Example 3.9: with demand 90, 120, 80, 70 known the best first order is 210.
    lot = compute_economic_lot(90, 500, holding_per_piece_year_minor=2)
    assert lot.quantity == pytest.approx(210, rel=0.02)

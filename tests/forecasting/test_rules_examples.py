"""Every worked example is either a test of these rules or named as another room's."""

import csv

from tests.forecasting import (
    test_rules_bitlife,
    test_rules_bursts,
    test_rules_calibration,
    test_rules_counts,
    test_rules_losses,
    test_rules_pooling,
    test_rules_record,
    test_rules_renewals,
    test_rules_scores,
    test_rules_use,
    test_rules_weighing,
)
from tests.forecasting.examples import EVERY, FOLDER

HERE = [
    name
    for module in (
        test_rules_bitlife,
        test_rules_bursts,
        test_rules_calibration,
        test_rules_counts,
        test_rules_losses,
        test_rules_pooling,
        test_rules_record,
        test_rules_renewals,
        test_rules_scores,
        test_rules_use,
        test_rules_weighing,
    )
    for name in module.CASES
]

LOT_SIZING = {
    "lot_silver_pyke_peterson",
    "lot_wagner_whitin_1958",
    "lot_nahmias_silver_meal",
    "lot_snyder_shen_3_9",
    "lot_krajewski_seat",
    "stockpyl_01_EOQ_all-units_discounts",
    "stockpyl_02_EOQ_incremental_discounts",
    "stockpyl_04_EPQ",
    "stockpyl_05_JRP_Silver_heuristic",
    "stockpyl_06_Wagner-Whitin",
    "stockpyl_22_EOQ_multiplicative_yield_uncertainty",
    "stockpyl_23_EOQ_additive_yield_uncertainty",
    "eoq_all_units_discount",
}
# Levels of a shop that reorders for ever; a build ends, so no rule here needs them.
REORDERING = {
    "stockpyl_07_newsvendor_normal",
    "stockpyl_08_newsvendor_Poisson",
    "stockpyl_10_(r,Q)_cost",
    "stockpyl_11_(r,Q)_optimal_r_for_Q=300",
    "stockpyl_13_(r,Q)_Poisson_exact",
    "stockpyl_14_(s,S)_exact_Poisson",
    "stockpyl_16_normal_loss",
}
ORDER_PLAN = {
    "bid_evaluation",
    "ampl_multmip1",
    "box_substitution",
    "pack_cover_0",
    "pack_cover_2",
    "pack_cover_4",
    "pack_cover_6",
    "pack_cover_8",
    "psp_pigment15a.psp",
    "psp_pigment15d.psp",
    "order_small_0_19",
}
ELSEWHERE = LOT_SIZING | REORDERING | ORDER_PLAN


def test_no_example_is_left_out_or_named_twice():
    assert len(HERE) == len(set(HERE))
    assert not set(HERE) & ELSEWHERE
    assert set(HERE) | ELSEWHERE == set(EVERY)
    assert len(EVERY) == 67
    assert (len(LOT_SIZING), len(REORDERING), len(ORDER_PLAN)) == (13, 7, 11)


def test_topics_of_the_order_plan_stay_out_and_all_others_are_here():
    assert {EVERY[name]["topic"] for name in ELSEWHERE} == {2, 3}
    assert {row["id"] for row in EVERY.values() if row["topic"] not in (2, 3)} <= set(
        HERE
    )


def test_the_index_says_the_same():
    text = (FOLDER / "index.csv").read_text(encoding="utf-8")
    rows = {row["id"]: row for row in csv.DictReader(text.splitlines())}
    assert set(rows) == set(EVERY)
    for name, row in rows.items():
        assert row["confidence"] == EVERY[name]["confidence"]
        assert row["citation"] == EVERY[name]["citation"]

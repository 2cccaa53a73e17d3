"""An order's figures: the rule's own tables times the count, cents that add up, trucks by the range."""

from decimal import Decimal
from math import pi

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.core.board_feet import Scaling
from inventory.core.log_rules import BoardRule
from inventory.core.order import (
    BadOrder,
    ClassLine,
    PriceBy,
    Terms,
    amount_of,
    nominal_profile,
    paid_quantity,
    quantities_of_line,
    total_of,
    written_money,
)
from inventory.core.profile import diameter_mm_at
from inventory.core.trucking import load_of_lines, truckloads
from inventory.core.volume import CubicRule
from inventory.core.wood import seed_species
from tests.outside.registry import rows_of

SPRUCE = next(one for one in seed_species() if one.name == "white spruce")


def a_line(*, length_mm="6248.4", least_mm="279.4", most_mm="330.2", count=4, price="0.825", **what):
    """A line of an order as the core has it."""
    return ClassLine(
        line=1,
        species="white spruce",
        length_mm=Decimal(length_mm),
        least_middle_mm=Decimal(least_mm),
        largest_middle_mm=Decimal(most_mm),
        count=count,
        price=price and Decimal(price),
        **what,
    )


@pytest.mark.parametrize(
    ("table", "rule"),
    [
        ("doyle_published_table", BoardRule.DOYLE),
        ("scribner_decimal_c", BoardRule.SCRIBNER_DECIMAL_C),
        ("international_1_4", BoardRule.INTERNATIONAL_QUARTER),
    ],
)
def test_an_order_of_ten_has_ten_times_the_published_board_feet(table, rule):
    cells = [row for row in rows_of("log_rules.csv") if row["rule"] == table]
    terms = Terms(board_rule=rule, taper_mm_per_m=0)

    for cell in cells:
        small_end_mm = Decimal(cell["small_end_diameter_in"]) * Decimal("25.4")
        length_mm = (Decimal(cell["length_ft"]) + Decimal("0.5")) * Decimal("304.8")
        line = a_line(length_mm=length_mm, least_mm=small_end_mm, most_mm=small_end_mm, count=10)
        assert quantities_of_line(line, terms).board_feet == 10 * Decimal(cell["board_feet"]), cell

    assert len(cells) > 50


def test_the_nominal_log_tapers_from_the_middle_of_its_class():
    profile = nominal_profile(length_mm=Decimal(6000), middle_mm=Decimal(300), taper_mm_per_m=10)

    assert diameter_mm_at(profile, 3000) == 300
    assert diameter_mm_at(profile, 0) == pytest.approx(330)
    assert diameter_mm_at(profile, 6000) == pytest.approx(270)


def test_cubic_metres_are_those_of_the_middle_by_huber():
    line = a_line(length_mm="5000", least_mm="280", most_mm="320", count=3)

    quantities = quantities_of_line(line, Terms(cubic_rule=CubicRule.HUBER))

    # pi / 4 x 0.3 m squared x 5 m = 0.3534 m3, a log to 0.001
    assert quantities.volume_m3 == 3 * Decimal("0.353")
    assert pi / 4 * 0.3**2 * 5 == pytest.approx(0.3534, abs=1e-4)
    assert (quantities.linear_m, quantities.linear_ft) == (Decimal(15), 3 * Decimal("16.40"))


def test_running_feet_are_told_to_the_hundredth():
    # 6.1 m is 20.0131 ft, 6.15 m 20.1772 ft.
    feet = [quantities_of_line(a_line(length_mm=mm, count=10), Terms()).linear_ft for mm in ("6100", "6150")]

    assert feet == [10 * Decimal("20.01"), 10 * Decimal("20.18")]


@pytest.mark.parametrize(
    ("price_by", "price", "amount"),
    [
        # 12 in by 20 ft less taper is 11 in at the top: (11 - 4)^2 x 20 / 16 = 61.25 board feet, scaled 61
        (PriceBy.BOARD_FOOT, "0.825", "201.30"),
        (PriceBy.LINEAR_FOOT, "2.10", "172.20"),
        (PriceBy.PIECE, "55.55", "222.20"),
        # Huber: pi / 4 x 0.3048^2 x 6.2484 = 0.456 m3 a log
        (PriceBy.CUBIC_METRE, "120", "218.88"),
    ],
)
def test_a_price_is_for_what_the_sale_says(price_by, price, amount):
    terms = Terms(board_rule=BoardRule.DOYLE, price_by=price_by)
    line = a_line(price=price)

    paid = amount_of(line.price, paid_quantity(quantities_of_line(line, terms), price_by))

    assert paid == Decimal(amount)


@given(st.lists(st.tuples(st.integers(0, 10**6), st.integers(0, 10**6)), min_size=1, max_size=50))
def test_cents_are_rounded_once_and_totals_add_up_exactly(pairs):
    amounts = [amount_of(Decimal(p) / 10000, Decimal(q) / 1000) for p, q in pairs]

    total = total_of(amounts)

    assert total is not None
    assert total * 100 == sum(int(amount * 100) for amount in amounts)
    for amount, (p, q) in zip(amounts, pairs, strict=True):
        assert abs(amount - Decimal(p * q) / 10**7) <= Decimal("0.005")


def test_half_a_cent_goes_up():
    assert amount_of(Decimal("0.825"), Decimal(183)) == Decimal("150.98")
    assert amount_of(Decimal("0.005"), Decimal(1)) == Decimal("0.01")


def test_a_total_with_an_unknown_part_is_not_known():
    assert total_of([Decimal("1.00"), None]) is None


def test_money_is_written_to_the_cent_at_least():
    assert [written_money(Decimal(x)) for x in ("84.5", "0.8250", "100", "0")] == [
        "84.50",
        "0.825",
        "100.00",
        "0.00",
    ]
    assert written_money(None) is None


def test_a_log_beyond_the_rules_table_has_no_board_feet_and_says_why():
    line = a_line(least_mm="140", most_mm="150", length_mm="6248.4")

    quantities = quantities_of_line(line, Terms(board_rule=BoardRule.SCRIBNER_DECIMAL_C))

    assert quantities.board_feet is None
    assert "table" in quantities.why_not
    assert quantities.volume_m3 > 0


def test_a_class_whose_tip_runs_out_is_no_log():
    with pytest.raises(BadOrder, match="taper"):
        nominal_profile(length_mm=Decimal(30000), middle_mm=Decimal(40), taper_mm_per_m=20)


def test_logs_sawn_on_two_faces_have_less_wood_than_round_ones_of_their_faces():
    faced = quantities_of_line(a_line(sawn_thickness_mm=Decimal("152.4")), Terms())
    thicker = quantities_of_line(a_line(sawn_thickness_mm=Decimal("203.2")), Terms())

    assert faced.volume_m3 < thicker.volume_m3


def test_truckloads_follow_the_weight_range():
    lines = [a_line(count=100)]

    load, unknown = load_of_lines(lines, terms=Terms(), woods={"white spruce": SPRUCE})
    trucks = truckloads(load, payload_kg=20_000)

    assert unknown == ()
    # 100 logs of 0.38 to 0.54 m3, green spruce from about 520 to 790 kg/m3.
    assert 19_000 < load.low_kg < 21_000 < 41_000 < load.high_kg < 44_000
    assert (trucks.fewest, trucks.most) == (2, 3)


def test_a_species_nobody_knows_leaves_the_weight_open():
    load, unknown = load_of_lines([a_line()], terms=Terms(), woods={})

    assert (load, unknown) == (None, ("white spruce",))


@pytest.mark.parametrize("payload_kg", [0, -1, float("nan"), float("inf")])
def test_a_truck_that_carries_nothing_is_none(payload_kg):
    load, _ = load_of_lines([a_line()], terms=Terms(), woods={"white spruce": SPRUCE})

    with pytest.raises(ValueError, match="payload"):
        truckloads(load, payload_kg=payload_kg)


def test_scaling_of_the_sale_decides_what_trim_costs():
    generous = Terms(board_rule=BoardRule.DOYLE, scaling=Scaling(trim_mm=0, length_step_ft=1))
    strict = Terms(board_rule=BoardRule.DOYLE, scaling=Scaling(trim_mm=304.8, length_step_ft=2))
    line = a_line(length_mm="6096")

    assert quantities_of_line(line, generous).board_feet > quantities_of_line(line, strict).board_feet

"""A mill's tally: read in its own columns or refused with every fault, counted to the log and to the cent."""

import io
import zipfile
from copy import deepcopy
from datetime import date
from decimal import Decimal

import openpyxl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.core.accounting import mill_quantity, our_quantity_of_tally
from inventory.core.form_reading import read_form
from inventory.core.log_rules import BoardRule
from inventory.core.numbering import BadNumber, numbers_after
from inventory.core.order import ClassLine, PriceBy, Terms
from inventory.core.reconcile import ScaledLog, line_for, outside_class, reconcile
from inventory.core.tally import FormReadsNoTally, read_tally
from inventory.core.tally_logs import TallyRow, diameters_of, logs_of_row
from inventory.core.tally_table import MOST_ROWS
from tests.inventory.ordering import FIRST_TRUCK, FORM, HEAD, tally

READS = read_form(FORM)


def read(rows, head=HEAD, form=READS, **what):
    return read_tally(tally(rows, head), form, known_lines=[1, 2], taper_mm_per_m=10, **what)


def faults_of(rows, head=HEAD, form=READS):
    reading = read(rows, head, form)
    assert reading.rows == ()
    return [(one.row, one.column, one.code) for one in reading.faults]


def a_row(**what):
    usual = {"row": 2, "length_mm": Decimal("6248.4"), "middle_mm": Decimal("304.8")}
    return TallyRow(**{**usual, **what})


def a_line(
    line=1, *, length_mm=6248, least_mm=280, most_mm=330, count=2, price="1.10", species="white spruce"
):
    return ClassLine(
        line=line,
        species=species,
        length_mm=Decimal(length_mm),
        least_middle_mm=Decimal(least_mm),
        largest_middle_mm=Decimal(most_mm),
        count=count,
        price=Decimal(price),
    )


def a_log(line=1, *, mill=60, ours=60, rejected=False, middle_mm=300, length_mm=6248):
    return ScaledLog(
        line=line,
        length_mm=Decimal(length_mm),
        middle_mm=Decimal(middle_mm),
        measured=True,
        mill_quantity=None if mill is None else Decimal(mill),
        our_quantity=None if ours is None else Decimal(ours),
        rejected=rejected,
    )


def test_a_tally_is_read_as_the_mill_wrote_it():
    rows = read(FIRST_TRUCK).rows

    assert [row.number for row in rows] == ["Q1", "Q2", "Q3"]
    first = rows[0]
    assert (first.row, first.line, first.species) == (2, 1, "white spruce")
    assert first.length_mm == Decimal("6248.4")
    assert first.middle_mm == Decimal("12.125") * Decimal("25.4")
    assert first.board_feet == 61


def test_what_stands_above_and_below_the_table_is_passed_over():
    file = b"Order,Bunkhouse\r\nPeeled\r\n\r\n" + tally(FIRST_TRUCK) + b"\r\nTotal,154\r\nthank you\r\n"

    reading = read_tally(file, READS, known_lines=[1, 2], taper_mm_per_m=10)

    assert reading.faults == ()
    assert [row.row for row in reading.rows] == [5, 6, 7]


def test_a_title_with_one_word_of_the_headings_is_no_heading():
    file = f"Tally {HEAD.split(',')[0]},{HEAD.split(',')[0]},for the bunkhouse\r\nno table follows\r\n"

    reading = read_tally(file.encode(), READS, known_lines=[1, 2], taper_mm_per_m=10)

    assert [(one.row, one.code) for one in reading.faults] == [(0, "no_headings")]


def test_columns_may_stand_in_any_order_beside_columns_of_the_mills_own():
    head = "BF,Lot,Top (in),Mid (in),Length,Wood,Tag,Item"

    reading = read(["61,x,11,12,20' 6\",white spruce,Q1,1"], head)

    assert reading.faults == ()
    assert reading.rows[0].board_feet == 61


@pytest.mark.parametrize(
    ("rows", "head", "expected"),
    [
        (["1,Q1,s,20' 6\",twelve,11,61"], HEAD, [(2, "Mid (in)", "unreadable_value")]),
        (["1,Q1,s,,12,11,61"], HEAD, [(2, "Length", "missing_value")]),
        (["1,Q1,s,20' 6\",,,61"], HEAD, [(2, "Mid (in)", "missing_value")]),
        (["9,Q1,s,20' 6\",12,11,61"], HEAD, [(2, "Item", "unknown_line")]),
        (["x,Q1,s,20' 6\",12,11,-3"], HEAD, [(2, "Item", "unreadable_value"), (2, "BF", "unreadable_value")]),
        (["1,Q1,s,200 ft,12,11,61"], HEAD, [(2, "Length", "length_out_of_reason")]),
        (["1,Q1,s,20' 6\",120,11,61"], HEAD, [(2, "Mid (in)", "diameter_out_of_reason"),
                                              (2, "Mid (in)", "diameter_out_of_reason")]),
        (["1,Q1,s,20 ft,12,11,61", ",,,,,,", "1,Q1,s,20 ft,12,11,61"], HEAD, [(4, "Tag", "number_twice")]),
        (["1,Q1,s,20' 6\",12"], "Item,Tag,Wood,Length,Mid (in)", [(1, "Top (in)", "missing_column"),
                                                                  (1, "BF", "missing_column")]),
        (["1,1,Q1,s,20' 6\",12,11,61"], "Item," + HEAD, [(1, "Item", "column_twice")]),
        ([], HEAD, [(0, "", "no_logs")]),
        (["1,2"], "a,b", [(0, "", "no_headings")]),
        (["1,Q1,s,bad,12,11,61", "1,Q2,s,20' 6\",bad,11,61"], HEAD, [(2, "Length", "unreadable_value"),
                                                                    (3, "Mid (in)", "unreadable_value")]),
    ],
)  # fmt: skip
def test_a_bad_tally_gives_nothing_and_names_every_fault_by_row_and_column(rows, head, expected):
    assert faults_of(rows, head) == expected


@pytest.mark.parametrize(
    "file", [b"", b"\0\1\2", b"PK\x03\x04 no zip", b"\xff\xfea", b'"' + b"x" * 200_000], ids=range(5)
)
def test_what_is_no_table_is_refused(file):
    reading = read_tally(file, READS, known_lines=[], taper_mm_per_m=10)

    assert reading.rows == ()
    assert reading.faults[0].row == 0


def test_a_tally_longer_than_any_delivery_is_refused():
    reading = read(["1,,s,20' 6\",12,11,61"] * (MOST_ROWS + 1))

    assert [one.code for one in reading.faults] == ["unreadable_file"]


@given(st.binary(max_size=300))
def test_no_file_breaks_the_reading(file):
    reading = read_tally(HEAD.encode() + b"\n" + file, READS, known_lines=[1], taper_mm_per_m=10)

    assert bool(reading.rows) != bool(reading.faults)


def test_a_tally_is_read_from_a_workbook_too():
    book = openpyxl.Workbook()
    sheet = book.worksheets[0]
    sheet.append(HEAD.split(","))
    sheet.append([1, "Q1", "white spruce", "20' 6\"", 12.125, 11, 61])
    sheet.append([2, date(2026, 5, 4), "white spruce", "14' 6\"", "11", 10.0, None])
    out = io.BytesIO()
    book.save(out)

    reading = read_tally(out.getvalue(), READS, known_lines=[1, 2], taper_mm_per_m=10)

    assert reading.faults == ()
    assert reading.rows[0].middle_mm == Decimal("12.125") * Decimal("25.4")
    assert (reading.rows[1].number, reading.rows[1].board_feet) == ("2026-05-04", None)


def test_a_number_in_a_workbook_is_read_whatever_marks_the_mill_writes():
    metric = {**FORM, "decimal_mark": ",", "columns": deepcopy(FORM["columns"])}
    book = openpyxl.Workbook()
    book.worksheets[0].append(HEAD.split(","))
    book.worksheets[0].append([1, "Q1", "white spruce", 20.5, 12.125, 11, 61.5])
    out = io.BytesIO()
    book.save(out)

    reading = read_tally(out.getvalue(), read_form(metric), known_lines=[1], taper_mm_per_m=10)

    assert reading.faults == ()
    assert reading.rows[0].length_mm == Decimal("6248.4")
    assert reading.rows[0].board_feet == Decimal("61.5")


def test_a_workbook_that_swells_beyond_any_tally_is_refused():
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as parts:
        parts.writestr("xl/worksheets/sheet1.xml", b" " * 60_000_000)

    reading = read_tally(out.getvalue(), READS, known_lines=[1], taper_mm_per_m=10)

    assert [(one.code, "larger" in one.text) for one in reading.faults] == [("unreadable_file", True)]


def test_a_form_without_diameters_reads_no_tally():
    bare = read_form({**FORM, "sort_by": [], "columns": [FORM["columns"][4], FORM["columns"][9]]})

    with pytest.raises(FormReadsNoTally):
        read_tally(b"Length,Pcs\n", bare, known_lines=[], taper_mm_per_m=10)


def test_a_row_for_several_logs_is_that_many_logs_and_its_scale_is_shared_out():
    row = a_row(count=3, board_feet=Decimal(100), volume_m3=Decimal("1.0"))

    logs = list(logs_of_row(row))

    assert [log.count for log in logs] == [1, 1, 1]
    assert sum(log.board_feet for log in logs) == 100
    assert sum(log.volume_m3 for log in logs) == 1
    assert max(log.board_feet for log in logs) - min(log.board_feet for log in logs) <= Decimal("0.0001")


@pytest.mark.parametrize(
    ("given_mm", "expected"),
    [
        # 3124.2 less 305 mm from the middle to where the ends are taken, at 10 mm a metre: 28.192 mm
        ({"middle_mm": 300}, (Decimal("328.192"), 300, Decimal("271.808"))),
        ({"middle_mm": None, "tip_mm": 270}, (Decimal("326.384"), Decimal("298.192"), 270)),
        ({"middle_mm": None, "butt_mm": 330}, (330, Decimal("301.808"), Decimal("273.616"))),
        # 315 in the mean of the ends, less a tenth of the 90 mm that it loses
        ({"middle_mm": None, "butt_mm": 360, "tip_mm": 270}, (360, 306, 270)),
        ({"middle_mm": None, "butt_mm": 280, "tip_mm": 270}, (280, 274, 270)),
        ({"middle_mm": None, "butt_mm": 270, "tip_mm": 270}, (270, 270, 270)),
        ({"middle_mm": 300, "butt_mm": 340, "tip_mm": 280}, (340, 300, 280)),
    ],
)
def test_what_a_mill_did_not_measure_follows_from_the_taper(given_mm, expected):
    row = a_row(**{name: mm and Decimal(mm) for name, mm in given_mm.items()})

    found = diameters_of(row, taper_mm_per_m=10)

    assert (found.butt_mm, found.middle_mm, found.tip_mm) == expected


@pytest.mark.parametrize("taper_mm_per_m", [0, 8, 10, 25])
@pytest.mark.parametrize(("butt_mm", "tip_mm"), [(330, 292), (400, 250), (300, 300), (310, 309)])
def test_a_middle_between_two_ends_is_never_thicker_than_their_mean(butt_mm, tip_mm, taper_mm_per_m):
    row = a_row(middle_mm=None, butt_mm=Decimal(butt_mm), tip_mm=Decimal(tip_mm))

    found = diameters_of(row, taper_mm_per_m=taper_mm_per_m)

    assert tip_mm <= found.middle_mm <= Decimal(butt_mm + tip_mm) / 2


def test_what_the_mill_scaled_counts_before_what_its_diameters_give():
    terms = Terms(board_rule=BoardRule.DOYLE, price_by=PriceBy.BOARD_FOOT)

    assert mill_quantity(a_row(board_feet=Decimal(70)), terms) == 70
    assert mill_quantity(a_row(), terms) == our_quantity_of_tally(a_row(board_feet=Decimal(70)), terms) == 61


def test_a_log_counts_for_the_line_it_fits():
    lines = [a_line(1), a_line(2, length_mm=4420, least_mm=254, most_mm=305)]
    lacking = {1: 1, 2: 2}

    def fits(length_mm, middle_mm, species="White  spruce"):
        return line_for(species=species, length_mm=Decimal(length_mm), middle_mm=Decimal(middle_mm),
                        lines=lines, open_count=lacking)  # fmt: skip

    assert fits(6250, 300) == 1
    assert fits(6250, 300) == 1, "one too many stays one of its own line: it is over, not another class"
    assert fits(4420, 230) == 2
    assert fits(4420, 300, species="") == 2
    assert fits(4420, 300, species="larch") is None
    assert lacking == {1: -1, 2: 0}


def test_a_millimetre_off_the_class_weighs_as_ten_off_the_length():
    thick = a_line(1, length_mm=6000, least_mm=300, most_mm=330)
    thin = a_line(2, length_mm=6200, least_mm=280, most_mm=299)

    def fits(middle_mm):
        # 175 too short for the second line, once the 25 allowed are taken off
        return line_for(species="", length_mm=Decimal(6000), middle_mm=Decimal(middle_mm),
                        lines=[thick, thin], open_count={1: 1, 2: 1})  # fmt: skip

    assert fits(283) == 1, "17 mm thinner than the class: 170, against 175"
    assert fits(282) == 2, "18 mm: 180"


def test_of_two_lines_that_fit_alike_the_open_one_is_filled():
    lines = [a_line(1, least_mm=280, most_mm=310), a_line(2, least_mm=290, most_mm=330)]
    lacking = {1: 0, 2: 1}

    found = line_for(
        species="", length_mm=Decimal(6248), middle_mm=Decimal(300), lines=lines, open_count=lacking
    )

    assert found == 2


@pytest.mark.parametrize(
    ("measures", "why"),
    [
        ({"middle_mm": 280}, ()),
        ({"middle_mm": 279}, ("too_thin",)),
        ({"middle_mm": 331}, ("too_thick",)),
        ({"length_mm": 6223}, ()),
        ({"length_mm": 6222, "middle_mm": 279}, ("too_thin", "too_short")),
        ({"length_mm": 7000}, ()),
    ],
)
def test_a_log_is_outside_its_class_by_its_measures(measures, why):
    assert outside_class(a_log(**measures), a_line()) == why


def test_an_account_by_hand():
    lines = [a_line(1, count=3, price="1.10"), a_line(2, count=2, price="0.333")]
    logs = [
        a_log(1, mill=61, ours=50), a_log(1, mill=61, ours=61), a_log(1, mill=40, ours=40, rejected=True),
        a_log(2, mill=10, ours=10), a_log(2, mill=10, ours=10), a_log(2, mill=11, ours=9, middle_mm=200),
        a_log(None, mill=99, ours=99),
    ]  # fmt: skip

    account = reconcile(lines, logs, ordered_amounts=[Decimal("201.30"), Decimal("6.66")])

    one, two, none = account.lines
    assert (one.delivered, one.accepted, one.rejected, one.short, one.over) == (3, 2, 1, 1, 0)
    assert (one.billed_amount, one.to_pay_amount) == (Decimal("178.20"), Decimal("134.20"))
    assert (one.rejected_amount, one.our_amount, one.difference_amount) == (
        Decimal("44.00"), Decimal("122.10"), Decimal("12.10"),
    )  # fmt: skip
    # 31 x 0.333 = 10.323, 29 x 0.333 = 9.657
    assert (two.to_pay_amount, two.our_amount) == (Decimal("10.32"), Decimal("9.66"))
    assert (two.over, two.outside) == (1, 1)
    assert (none.line, none.over, none.to_pay_amount) == (None, 1, Decimal("0.00"))
    assert account.total.to_pay_amount == Decimal("144.52")
    assert account.total.delivered == 7


def test_an_account_with_a_log_no_rule_reaches_says_so_instead_of_guessing():
    account = reconcile([a_line()], [a_log(mill=None)], ordered_amounts=[None])

    assert account.lines[0].to_pay_amount is None
    assert account.total.to_pay_amount is None
    assert account.total.our_amount == Decimal("66.00")


LOGS = st.lists(
    st.builds(
        a_log,
        st.sampled_from([1, 2, 3, None]),
        mill=st.integers(0, 500),
        ours=st.integers(0, 500),
        rejected=st.booleans(),
        middle_mm=st.integers(200, 400),
    ),
    max_size=40,
)


@given(LOGS, st.lists(st.integers(1, 9999), min_size=3, max_size=3))
def test_every_account_adds_up_to_the_log_and_to_the_cent(logs, prices):
    lines = [a_line(n, count=5, price=f"{p / 10000:.4f}") for n, p in enumerate(prices, start=1)]

    account = reconcile(lines, logs, ordered_amounts=[Decimal("1.00")] * 3)

    for one in (*account.lines, account.total):
        assert one.ordered + one.over == one.accepted + one.short
        assert one.delivered == one.accepted + one.rejected
        assert one.billed_amount == one.to_pay_amount + one.rejected_amount
        assert one.to_pay_amount == one.our_amount + one.difference_amount
        assert one.to_pay_amount == one.to_pay_amount.quantize(Decimal("0.01"))
    assert account.total.delivered == len(logs)
    assert sum(one.to_pay_amount for one in account.lines) == account.total.to_pay_amount


@pytest.mark.parametrize(
    ("taken", "first", "expected"),
    [
        ([], None, ("1", "2", "3")),
        (["A7", "A12", "B99"], None, ("A13", "A14", "A15")),
        (["W-098", "W-099"], None, ("W-100", "W-101", "W-102")),
        (["A1"], "C1", ("C1", "C2", "C3")),
        (["c2"], "C1", ("C1", "C3", "C4")),
        (["7"], "007", ("007", "008", "009")),
        (["old one", "spare"], None, ("1", "2", "3")),
    ],
)
def test_numbers_go_on_where_the_yards_own_end(taken, first, expected):
    assert numbers_after(taken, how_many=3, first=first) == expected


def test_a_first_number_ends_in_digits():
    with pytest.raises(BadNumber):
        numbers_after([], how_many=1, first="the big one")

"""Tables become models, a row each; every fault is told at its row and heading."""

import csv
import datetime
import io
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from listkit.bounds import ROWS_FITTED
from listkit.model.item import Item
from listkit.model.wholesale import Stockist
from listkit.read.table_file import Form, Table, read_table
from listkit.units.money import NO_CURRENCY, Money
from tests.shops import ods, ods_row, xlsx
from tests.steps import calls

HEAD = "code,name,retail,cost,weight (g),size (mm)"
ROW = "OH-B01,Rosemary & Rind,7.50,1.85,119,86 x 58 x 28"
FORM = Form(Item, {}, "GBP")
LETTERS = st.characters(exclude_characters="\0", exclude_categories=["Cs"])


def read(text: str | bytes, *, file: str = "items.csv", form: Form[Item] = FORM) -> tuple[Table[Item], list[str]]:
    table, problems = read_table(file, text if isinstance(text, bytes) else text.encode(), form)
    return table, [f"{problem}  {problem.code}" for problem in problems]


def problems(*rows: str, head: str = HEAD) -> list[str]:
    return [line.removeprefix("Must fix · items.csv, ") for line in read("\n".join((head, *rows)))[1]]


def test_a_row_becomes_an_item_with_units_from_cell_or_heading() -> None:
    head = "Code,NAME,Retail £,cost (GBP),Weight in oz,size,shelf life (months),net (g),on hand,upright,cautions,status"
    row = 'OH-1,Bar,£7.50,1.85,4.5,3in x 2 1/2in x 1in,18,110,64,yes,external-use; Keep "dry".,last chance'
    table, told = read(f"{head}\n{row}\n")
    assert told == []
    (item,) = table.rows
    assert item.retail == Money(Decimal("7.50"), "GBP")
    assert item.weight.grams == Decimal("4.5") * Decimal("28.349523125")  # NIST Handbook 44, Appendix C
    assert (item.shelf_life, item.on_hand) == (18, 64)
    assert item.net is not None
    assert (item.net.text, item.upright, item.status) == ("110 g", True, "last chance")
    assert item.cautions == ("external-use", 'Keep "dry".')


SHEET: list[list[object]] = [
    ["Stock list of spring"],
    [],
    ["Code", "Name", "Retail", "Cost", "Weight (g)", "Size (mm)", "GTIN", "On hand", "Upright", "Colour"],
    ["OH-B01", "Rosemary & Rind", 7.5, 1.85, 119, "86 x 58 x 28", 9520000010010, 64, True, "green"],
    [],
    ["OH-B02", "Café & Crème", 24, 0.1 + 0.2, 119.5, "86 x 58 x 28", None, None, False, None],
    ["Total", None, 31.5, 2.15],
]


def _typed(value: object) -> str:
    """Return a cell as a spreadsheet shows it."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return f"{value:.15g}"
    return "" if value is None else str(value)


def test_csv_xlsx_and_ods_are_read_alike() -> None:
    written = "\n".join(";".join(map(_typed, row)) for row in SHEET)
    from_csv, told = read(written)
    assert told == []
    assert [item.code for item in from_csv.rows] == ["OH-B01", "OH-B02"]
    assert [(str(item.retail), str(item.cost), item.gtin) for item in from_csv.rows] == [
        ("7.50", "1.85", "9520000010010"), ("24.00", "0.30", ""),
    ]  # fmt: skip
    from_xlsx, told = read(xlsx(SHEET), file="items.xlsx")
    assert (told, from_xlsx.rows) == ([], from_csv.rows)
    cells = [[_typed(cell) if cell is None or isinstance(cell, (bool, str)) else cell for cell in row] for row in SHEET]
    table = "".join(ods_row(row) for row in cells)  # type: ignore[arg-type]
    from_ods, told = read(ods(table), file="items.ods")
    assert (told, from_ods.rows) == ([], from_csv.rows)
    for encoding in ("utf-8-sig", "utf-16", "windows-1252"):
        assert read(written.encode(encoding))[0].rows == from_csv.rows


AGAIN = "Type it again, in a cell formatted as text.  bad-value"
FAULTY_ROWS = {
    'A,B,"24,50",1,1,1 x 1 x 1': 'column retail: "24,50" has a comma. Write "24.50" with a point.  bad-value',
    "A,B,1e5,1,1,1 x 1 x 1": (
        'column retail: "1e5" is in powers of ten, as spreadsheets write long numbers. '
        'Write it out, as in "24.50".  bad-value'
    ),
    "A,B,$7,1,1,1 x 1 x 1": 'column retail: "$7" is not an amount in GBP. Write it as in "24.50".  bad-value',
    "A,B,,1,1,1 x 1 x 1": (
        'column retail: "retail" is missing. '
        "Fill it in: what one piece costs in the shop, tax as the shop says.  missing-key"
    ),
    "A,B,7,1,1,1 x 1": (
        'column size (mm): "1 x 1 mm" has 2 sides, not three. '
        'Write length, width and height, as in "86 x 58 x 28 mm".  bad-value'
    ),
    "1E5,B,7,1,1,1 x 1 x 1": f'column code: the code "1E5" can also be read as a power of ten. {AGAIN}',
    "01-Mar,B,7,1,1,1 x 1 x 1": f'column code: the code "01-Mar" can also be read as a date. {AGAIN}',
    "A,B, C,7,1,1,1 x 1 x 1": (
        "row A: the row has 7 cells and the table 6 columns. Put a text that holds the separator in quotes, and write "
        "a point in prices.  syntax"
    ),
    "A-9,,,,,": 'row A-9: the row holds only "A-9". Fill it in or take it out.  missing-key',
}


@pytest.mark.parametrize("row", FAULTY_ROWS)
def test_a_fault_in_a_cell_is_told_at_its_row_and_heading(row: str) -> None:
    code = row.partition(",")[0]
    told = FAULTY_ROWS[row]
    assert (told if told.startswith("row") else f"row {code}, {told}") in problems(row)


def test_a_row_without_code_is_told_by_its_line() -> None:
    assert problems(",B,7,1,1,1 x 1 x 1") == [
        'line 2, column code: "code" is missing. Fill it in: the owner\'s own code, once in the shop.  missing-key'
    ]


def test_a_broken_row_is_left_out_and_its_code_remembered() -> None:
    table, told = read(f"{HEAD}\n{ROW}\nA,B,x,1,1,1 x 1 x 1\n")
    assert [item.code for item in table.rows] == ["OH-B01"]
    assert [(code, f"{problem}  {problem.code}") for code, problem in table.broken] == [("A", told[0])]


def test_a_code_twice_names_both_rows_and_keeps_the_first() -> None:
    table, told = read(f"{HEAD}\n{ROW}\n\n{ROW.replace('7.50', '8.50')}\n")
    assert told == [
        'Must fix · items.csv, row OH-B01, column code: "OH-B01" stands in line 2 and again in line 4. '
        "Give each its own code.  code-twice"
    ]
    assert [str(item.retail) for item in table.rows] == ["7.50"]


def test_titles_blank_rows_totals_and_repeated_headers_are_passed_over() -> None:
    text = f"Our soaps,,,\n,,,\n{HEAD},,\n{ROW},,\n,,\n{HEAD},,\nTotal,,7.50,1.85\n,Subtotal:,3\nGrand total,,1\n"
    table, told = read(text)
    assert (len(table.rows), told) == (1, [])


@pytest.mark.parametrize(
    "label",
    ["Soaps total", "Total soap", "Subtotal bars", "Grand total, all soaps", "Total of soaps:", "Total des savons",
     "Sous-total savons", "Savons total", "Summe Seifen", "Seifen gesamt", "Seifensumme", "Gesamtsumme Seifen",
     "Total de jabones", "Suma de jabones", "Jabones total", "Totale saponi", "Saponi totale", "Somma saponi"],
)  # fmt: skip
def test_a_sum_that_says_of_what_is_left_aside_and_told_once(label: str) -> None:
    head = "name,on hand,code,retail,cost,weight (g),size (mm)"
    text = f'{head}\nRose,12,OH-1,7,1,100,8 x 8 x 8\n"{label}",97\n"{label}",£340.50\n'
    table, told = read(text)
    assert [item.code for item in table.rows] == ["OH-1"]
    assert [line.endswith("row-aside") for line in told] == [True], told
    assert label in told[0]


@pytest.mark.parametrize(
    "row",
    ["Total Calm,12,,7,1,100,8 x 8 x 8", "Total Calm,12,OH-2,,,,", "Total Calm,soft,,7,,,", "Dim Sumac,97,,,,,",
     "Summer soap,97,,,,,"],
)  # fmt: skip
def test_a_thing_called_after_a_sum_is_told_and_not_left_aside(row: str) -> None:
    _, told = read(f"name,on hand,code,retail,cost,weight (g),size (mm)\n{row}\n")
    assert told
    assert not any(line.endswith("row-aside") for line in told)


def test_a_row_of_units_below_the_header_is_no_item() -> None:
    table, told = read(f"{HEAD}\n,,(£),(£),g,mm\n{ROW}\n")
    assert (len(table.rows), told) == (1, [])


def test_a_missing_column_may_be_one_that_is_left_alone() -> None:
    form = Form(Item, {"Heft": ""}, "GBP")
    told = read("code,name,retail,cost,Heft,size (mm)\n", form=form)[1]
    assert told == [
        'Must fix · items.csv, line 1: there is no column "weight". Add it: one piece, filled and closed: "340 g" or '
        '"12 oz". Or say in shop.toml, [items.columns], which heading it has.  missing-key'
    ]


def test_an_item_may_be_called_total() -> None:
    table, told = read(f"{HEAD}\nT-1,Total Calm,7,1,1,1 x 1 x 1\n")
    assert (len(table.rows), told) == (1, [])
    assert problems(",Total Calm,7,1,1,1 x 1 x 1")[0].startswith("line 2, column code:")


def test_headings_are_told_on_the_header_row() -> None:
    assert problems(head=f"\n{HEAD},wieght,Retail (£)") == [
        'line 2, column Retail (£): "retail" already holds the retail. '
        "Take one of the two out, or give it another heading.  bad-value",
        'Look at · items.csv, line 2, column wieght: "wieght" is nearly "weight". Write "weight".  unknown-column',
    ]
    assert problems("A,B", head="code,nmae") == [
        'Look at · items.csv, line 1, column nmae: "nmae" is nearly "name". Write "name".  unknown-column',
        'line 1: there is no column "name". Add it: the name buyers see.  missing-key',
        'line 1: there is no column "retail". Add it: what one piece costs in the shop, tax as the shop says.  '
        "missing-key",
        'line 1: there is no column "cost". Add it: what one piece costs to make: materials, own packaging, labour, '
        "overhead.  missing-key",
        'line 1: there is no column "weight". Add it: one piece, filled and closed: "340 g" or "12 oz".  missing-key',
        'line 1: there is no column "size". Add it: outside length, width and height as it stands.  missing-key',
    ]


def test_a_table_without_header_or_needed_columns_says_that_it_is_unread() -> None:
    for text in ("hello\n", "code,name\nA,B\n", ""):
        table, told = read(text)
        assert table.headings is None
        assert table.unread is not None
        assert f"{table.unread}  {table.unread.code}" in told
    table, _ = read(f'{HEAD}\n{ROW}\nA,"B\n')
    assert len(table.rows) == 1
    assert table.unread is not None


def test_a_column_without_unit_is_one_problem_and_not_one_a_row() -> None:
    rows = "".join(f"A-{n},B,7,1,{n + 1},1 x 1 x 1 cm\n" for n in range(5))
    table, told = read("code,name,retail,cost,weight,size\n" + rows)
    assert told == [
        'Must fix · items.csv, line 1, column weight: its numbers have no unit, as in "1". '
        'Write the unit in the heading, as in "weight (g)".  bad-value'
    ]
    assert [code for code, _ in table.broken] == [f"A-{n}" for n in range(5)]


def test_a_heading_in_another_currency_is_told_once() -> None:
    told = problems(ROW, ROW.replace("B01", "B02"), head=HEAD.replace("retail", "retail ($)"))
    assert told == [
        "line 1, column retail ($): \"$\" is not the shop's currency, GBP. Give sums in the shop's currency.  bad-value"
    ]


def test_without_a_known_currency_money_makes_no_problems() -> None:
    for price in ("7.50", "£7.50", "7.505", "7.50 EUR", "kr 12"):
        text = f"{HEAD.replace('cost', 'cost (€)')}\nA,B,{price},1,1,1 x 1 x 1\n"
        assert read(text, form=Form(Item, {}, NO_CURRENCY))[1] == [], price


def test_the_owners_headings_are_used() -> None:
    form = Form(Item, {"Product": "name", "Ref": "code", "Grams": "weight (g)"}, "GBP")
    table, told = read("Product,Ref,retail,cost,Grams,size (mm)\nBar,A-1,7,1,119,1 x 1 x 1\n", form=form)
    assert told == []
    assert (table.rows[0].name, table.rows[0].code, str(table.rows[0].weight.grams)) == ("Bar", "A-1", "119")


def test_cells_of_a_workbook_are_told_by_their_name() -> None:
    rows: list[list[object]] = [
        ["code", "name", "retail", "cost", "weight (g)", "size (mm)", "gtin"],
        [datetime.date(2027, 3, 1), "B", 7, 1, 1, "1 x 1 x 1", 9.52e15],
        [None, "B", 7.123, 1, 1, "1 x 1 x 1", "9.52E+12"],
        [1.1, "B", "=1/0", 1, 1, "1 x 1 x 1", None],
    ]
    table, told = read(xlsx(rows), file="items.xlsx")
    assert told[:4] == [
        'Must fix · items.xlsx, row 2027-03-01, column code: cell A2: the code "2027-03-01" can also be read as a '
        f"date. {AGAIN}",
        'Must fix · items.xlsx, row 2027-03-01, column gtin: cell G2: the GTIN "9520000000000000" is stored as a '
        f"number with digits lost. {AGAIN}",
        'Must fix · items.xlsx, row 3, column gtin: cell G3: the GTIN "9.52E+12" can also be read as a power of ten. '
        f"{AGAIN}",
        'Must fix · items.xlsx, row 3, column code: cell A3: "code" is missing. '
        "Fill it in: the owner's own code, once in the shop.  missing-key",
    ]
    assert 'cell A4: the code "1.1" is stored as a number, which has no zeros at its end' in told[5]
    assert told[6] == (
        'Must fix · items.xlsx, row 1.1, column retail: cell C4: the formula "=1/0" is there without its result. '
        "Open the sheet in a spreadsheet program and save it again, or type the value.  bad-value"
    )
    assert len(told) == 7
    assert [(item.code, item.gtin) for item in table.rows] == [("2027-03-01", "")], "a doubtful cell hides nothing else"
    assert [code for code, _ in table.doubtful] == ["2027-03-01", "1.1"]


ERROR = "Mend its formula and save the sheet, or type the value."


@pytest.mark.parametrize("file", ["items.csv", "items.xlsx"])
def test_an_error_of_a_spreadsheet_is_no_empty_cell(file: str) -> None:
    """A lookup that found nothing must not leave a thing without its cautions, or with a name that is an error."""
    head = ["code", "name", "retail", "cost", "weight (g)", "size (mm)", "cautions", "scent"]
    rows = [
        head,
        ["B-1", "Balm", "4", "1", "20", "1 x 1 x 1", "#N/A", "#REF!"],
        ["", "", "", "", "", "", "#N/A", "#N/A"],
    ]
    target = io.StringIO()
    csv.writer(target).writerows(rows)
    table, told = read(target.getvalue() if file.endswith("csv") else xlsx(rows), file=file)
    at = "line" if file.endswith("csv") else "row"
    cells = ("", "") if file.endswith("csv") else ("cell G2: ", "cell H2: ")
    assert told == [
        f'Must fix · {file}, row B-1, column cautions: {cells[0]}it holds the error "#N/A" and no value. '
        f"{ERROR}  bad-value",
        f'Must fix · {file}, row B-1, column scent: {cells[1]}it holds the error "#REF!" and no value. '
        f"{ERROR}  bad-value",
        f'Look at · {file}, line 3: the {at} holds only "#N/A", so it is no thing and left alone. '
        "Fill in the other cells where one is a thing.  row-aside",
    ]
    assert [code for code, _ in table.broken] == ["B-1"]


def test_the_place_of_a_field_is_found_again_by_code() -> None:
    table, _ = read(f"\n{HEAD}\n{ROW}\n")
    assert str(table.place("OH-B01", "weight")) == "items.csv, row OH-B01, column weight (g)"
    assert table.place("OH-B01", "weight").line == 3


def test_stockists_are_read_the_same_way() -> None:
    table, told = read_table("stockists.csv", b"code;name;email\nMILL;The Sluice Shop;\n", Form(Stockist, {}))
    assert ([stockist.name for stockist in table.rows], told) == (["The Sluice Shop"], [])


def test_the_work_of_reading_grows_with_the_rows() -> None:
    """Four times the rows take about four times the steps."""

    def rows(number: int) -> str:
        return f"{HEAD}\n" + "".join(f"A-{n},Bar {n},7.50,1.85,119,86 x 58 x 28\n" for n in range(number))

    table, told = read(rows(5000))
    assert (len(table.rows), told) == (5000, [])
    assert calls(lambda: read(rows(2000))) < 5 * calls(lambda: read(rows(500)))


CELLS = st.sampled_from(
    ["", "OH-1", "OH-2", "Rose", "7", "7,5", "12,9", "7.5", "1.2E+05", "Mar-27", "85 x 55 x 20", "8 cm", "total", "g"]
)
HEADS = ("code,name,retail,cost,weight (g),size (mm)", "code,name,retail,cost,weight,size (mm)")
GOOD = ["OH-9", "Oat", "7", "2", "110", "85 x 55 x 20"]
VERSIONS = st.lists(
    st.tuples(
        st.sampled_from(HEADS),
        st.lists(st.lists(CELLS, min_size=5, max_size=7) | st.just(GOOD), max_size=5),
    ),
    min_size=2,
    max_size=4,
)


@settings(deadline=None)
@given(VERSIONS)
def test_a_table_read_again_is_as_if_it_were_read_first(versions: list[tuple[str, list[list[str]]]]) -> None:
    before = None
    for head, rows in versions:
        written = io.StringIO(newline="")
        csv.writer(written).writerows([head.split(","), *rows])
        content = written.getvalue().encode()
        read_again = read_table("items.csv", content, FORM, before)
        assert read_again == read_table("items.csv", content, FORM)
        before = read_again[0]


def test_of_a_table_read_again_the_changed_row_alone_is_made_anew() -> None:
    lines = [f"OH-{at},Bar {at},7.50,1.85,119,86 x 58 x 28" for at in range(100)]
    before, _ = read_table("items.csv", "\n".join((HEAD, *lines)).encode(), FORM)
    lines[40] = lines[40].replace("7.50", "8.00")
    content = "\n".join((HEAD, "OH-X,New,7,1,100,86 x 58 x 28", *lines)).encode()
    after, _ = read_table("items.csv", content, FORM, before)
    old = {id(item) for item in before.rows}
    assert [item.code for item in after.rows if id(item) not in old] == ["OH-X", "OH-40"]
    assert after.lines["OH-99"] == before.lines["OH-99"] + 1


@settings(deadline=None)
@given(st.lists(st.text(LETTERS, max_size=12), min_size=5, max_size=7))
def test_any_text_in_any_cell_is_read_or_told(cells: list[str]) -> None:
    row = ",".join('"' + cell.replace('"', '""') + '"' for cell in cells)
    table, told = read(f"{HEAD}\nA-1,{row}")
    assert len(table.rows) == (not told)
    assert all("\n" not in line for line in told)


@settings(deadline=None)
@given(st.binary(max_size=200))
def test_any_bytes_are_read_or_told(content: bytes) -> None:
    for file in ("items.csv", "items.xlsx", "items.ods"):
        table, told = read(content, file=file)
        assert not table.rows
        assert told
        read(HEAD.encode() + b"\n" + content, file=file)


def test_headings_within_a_sheet_sums_and_footnotes_are_left_alone_and_told_once() -> None:
    table, told = read(f"{HEAD}\nSoaps,,,,,\n{ROW}\nTotal,,7.50,,,\n,* prices with tax,,,,\n")
    assert [item.code for item in table.rows] == ["OH-B01"]
    assert told == [
        "Look at · items.csv, line 2: 3 lines hold a text alone or a sum, so they are no things and left alone: "
        'line 2 "Soaps", line 4 "Total" and line 5 "* prices with tax". '
        "Fill in the other cells where one is a thing.  row-aside"
    ]


def test_a_column_that_writes_decimal_commas_throughout_is_understood() -> None:
    rows = ('A,B,"6,50","1,7",110,"8 x 5,5 x 2,5"', 'C,D,"7,25","2,1",120,"8 x 5,5 x 3"')
    table, told = read("\n".join((HEAD, *rows)))
    assert told == []
    assert [(str(item.retail), str(item.cost)) for item in table.rows] == [("6.50", "1.70"), ("7.25", "2.10")]
    assert [item.size.sides[1] for item in table.rows] == [Decimal("5.5"), Decimal("5.5")]
    mixed = problems(*rows, "E,F,8.00,2,130,8 x 5 x 3")
    assert [problem.partition(":")[0] for problem in mixed] == ["row A, column retail", "row C, column retail"]


def test_a_sum_with_a_point_between_thousands_is_no_row_by_which_a_column_is_judged() -> None:
    rows = ('A,B,"6,50","1,7",110,"8 x 5,5 x 2,5"', 'C,D,"1250,25","2,1",120,"8 x 5,5 x 3"', 'Sum,,"1.256,75","3,8",,')
    table, told = read("\n".join((HEAD, *rows)))
    assert told == []
    assert [str(item.retail) for item in table.rows] == ["6.50", "1250.25"]


def test_one_cell_that_is_missing_is_told_and_not_those_behind_it() -> None:
    """The cost was forgotten with its comma: all behind it stand too far left. Which cell it was cannot be known."""
    assert problems("A,B,7.50,110,1 x 1 x 1") == [
        'row A: the row has a cell less than the table has columns; it can be read with "retail", "cost" '
        'or "weight (g)" empty. Put "retail", "cost" or "weight (g)" in, or leave its cell empty.  bad-value'
    ]


def test_the_cell_that_is_missing_is_looked_for_in_a_bounded_number_of_rows() -> None:
    """A column that was taken out of thousands of rows: each of them at each of its places took a minute."""
    told = problems(*(f"A{row},B,7.50,110,1 x 1 x 1" for row in range(3 * ROWS_FITTED)))
    assert sum("a cell less" in problem for problem in told) == ROWS_FITTED
    assert {problem.partition(":")[0].partition(",")[0] for problem in told} == {
        f"row A{row}" for row in range(3 * ROWS_FITTED)
    }


@pytest.mark.parametrize(
    ("scent", "turns"), [("\u202erose", True), ("\u2067ורד\u2069 rose", False), ("\u200fורד", False)]
)
def test_a_cell_that_turns_the_writing_and_never_turns_it_back_is_told(scent: str, turns: bool) -> None:
    """Unicode Standard Annex 9, X8: what is open ends with its paragraph, and a page puts more than a cell into one."""
    told = (
        "row OH-B01, column scent: a sign that nobody sees (U+202E, right-to-left override) turns the writing and "
        "never turns it back. Take it out: what follows would be read backwards.  bad-value"
    )
    assert problems(f"{ROW},{scent}", head=f"{HEAD},scent") == [told] * turns


@pytest.mark.parametrize("column", ["scent", "container", "name"])
def test_a_cell_with_a_sign_that_steers_machines_is_told(column: str) -> None:
    head = HEAD if column == "name" else f"{HEAD},{column}"
    row = ROW.replace("Rosemary", "\x1b[31mRosemary") if column == "name" else f"{ROW},\x1b[31mred"
    assert problems(row, head=head) == [
        f"row OH-B01, column {column}: it holds U+001B, a sign that steers machines. Take it out.  bad-value"
    ]

"""Formulas of the order form: what a line comes to, what is still missing of it, what the whole order comes to.

In the function names and signs that workbooks are saved with, so that every program and language reads them. Only
functions that all spreadsheets have had for long are used.
"""

from collections.abc import Mapping
from dataclasses import dataclass

from listkit.listing.order_form import DISPLAY, SET, FormLine, FormText, Span


@dataclass(frozen=True, slots=True)
class Layout:
    """Where things stand in the sheet: each line's row, counted from 1, and the letters of columns.

    `prices` are the columns of wholesale and the tiers. `kind` is a hidden column that names sets, items, displays.
    `first_order` is the cell that says whether it is a first order, `sum` the one of the order's sum, `shelf` that of
    what it sells for.
    """

    rows: tuple[int, ...]
    prices: tuple[str, ...]
    quantity: str
    total: str
    missing: str
    kind: str
    retail: str
    first_order: str
    sum: str
    shelf: str

    def cells(self, column: str, span: Span | None = None) -> str:
        """Return the cells of a column in a span of lines, of all lines without one."""
        start, end = span or (0, len(self.rows))
        return f"${column}${self.rows[start]}:${column}${self.rows[end - 1]}"

    def cell(self, column: str, line: int) -> str:
        """Return one line's cell."""
        return f"{column}{self.rows[line]}"


def total_formula(form: FormText, layout: Layout, number: int) -> str:
    """Return the formula of a line's total: quantity times the price of the tier that its entry reaches."""
    line = form.lines[number]
    quantity = layout.cell(layout.quantity, number)
    price = layout.cell(layout.prices[0], number)
    if line.kind == DISPLAY:
        if form.free_from is not None:
            price = f"IF({_sets(layout)}>={form.free_from},0,{price})"
    else:
        ordered = f"SUM({layout.cells(layout.quantity, line.priced)})"
        for start, column in zip(form.tiers, layout.prices[1:], strict=True):
            price = f"IF({ordered}>={start},{layout.cell(column, number)},{price})"
        if line.free_over is not None:
            worth, goods = line.free_over
            price = f"IF(SUM({layout.cells(layout.total, goods)})>={worth:f},0,{price})"
    whole = f"AND({quantity}>=0,{quantity}=INT({quantity}))"
    return f'=IF(ISNUMBER({quantity}),IF({whole},ROUND({quantity}*{price},{form.digits}),""),"")'


def missing_formula(form: FormText, layout: Layout, number: int) -> str:
    """Return the formula that says what is missing of the lines counted together with this one; "" where it is none."""
    line, words = form.lines[number], form.words
    if not line.leads:
        return ""
    if line.kind == DISPLAY:
        own = layout.cell(layout.quantity, number)
        ordered = f"SUM({layout.cells(layout.quantity, line.packed)})"
        wrong = (
            f'IF(OR({own}<0,{own}>1,{own}<>INT({own}),AND({own}>0,{ordered}=0)),{formula_text(words.display_most)},"")'
        )
        return f'=IF({own}="","",IF(ISNUMBER({own}),{wrong},{formula_text(words.whole)}))'
    cells = layout.cells(layout.quantity, line.packed)
    short = _packs(line, f"SUM({cells})", form)
    odd = f"SUMPRODUCT(({cells}<>INT({cells}))+({cells}<0))>0"
    counted = f'IF(COUNTA({cells})=0,"",IF(COUNT({cells})<COUNTA({cells}),{formula_text(words.whole)},IF({odd},'
    return f"={counted}{formula_text(words.whole)},{short})))"


def _packs(line: FormLine, ordered: str, form: FormText) -> str:
    told = '""'
    if line.least:
        says = _sentence(form.words.add_least, {"count": f"({line.least}-{ordered})", "least": str(line.least)})
        told = f"IF({ordered}<{line.least},{says},{told})"
    if line.case:
        rest = f"MOD({ordered},{line.case})"
        says = _sentence(form.words.add_cases, {"count": f"({line.case}-{rest})", "case": str(line.case)})
        told = f"IF({rest}>0,{says},{told})"
    return told if told == '""' else f'IF({ordered}=0,"",{told})'


def sum_formula(form: FormText, layout: Layout) -> str:
    """Return the formula of the order's sum."""
    return f"=ROUND(SUM({layout.cells(layout.total)}),{form.digits})"


def shelf_formula(form: FormText, layout: Layout) -> str:
    """Return the formula of what an order sells for at the suggested prices; words in a cell count as none."""
    return f"=ROUND(SUMPRODUCT({layout.cells(layout.quantity)},{layout.cells(layout.retail)}),{form.digits})"


def margin_formula(form: FormText, layout: Layout) -> str:
    """Return the formula of the share that a shop keeps of that before tax."""
    net = f"({layout.shelf}/{1 + form.tax:f})" if form.tax else layout.shelf
    return f'=IF({layout.shelf}>0,({net}-{layout.sum})/{net},"")'


def pieces_formula(layout: Layout) -> str:
    """Return the formula of how many pieces are ordered, display sets left out."""
    kinds, quantities = layout.cells(layout.kind), layout.cells(layout.quantity)
    return f"=SUM({quantities})-SUMIF({kinds},{formula_text(DISPLAY)},{quantities})"


def status_formula(form: FormText, layout: Layout) -> str:
    """Return the formula that says whether the order can be sent, or what is missing first."""
    words = form.words
    told = formula_text(words.ready)
    if form.opening is not None or form.reorder is not None:
        told = _least_sums(form, layout, told)
    told = f'IF(COUNTIF({layout.cells(layout.missing)},"?*")>0,{formula_text(words.see_lines)},{told})'
    return f"=IF(COUNTA({layout.cells(layout.quantity)})=0,{formula_text(words.nothing)},{told})"


def _least_sums(form: FormText, layout: Layout, ready: str) -> str:
    """Return what is short of the least sum: of a first order, or of a later one."""
    first, yes, no = layout.first_order, formula_text(form.words.yes), formula_text(form.words.no)
    told = {"yes": ready, "no": ready}
    for answer, least in (("yes", form.opening), ("no", form.reorder)):
        if least is not None:
            amount = f"FIXED({least:f}-{layout.sum},{form.digits},TRUE)"
            says = _sentence(form.words.short, {"amount": amount, "least": f"FIXED({least:f},{form.digits},TRUE)"})
            told[answer] = f"IF({layout.sum}<{least:f},{says},{ready})"
    asked = formula_text(form.words.first_order)
    return f"IF({first}={yes},{told['yes']},IF({first}={no},{told['no']},{asked}))"


def _sets(layout: Layout) -> str:
    return f"SUMIF({layout.cells(layout.kind)},{formula_text(SET)},{layout.cells(layout.quantity)})"


def _sentence(sentence: str, values: Mapping[str, str]) -> str:
    """Return the formula of a sentence with figures put in."""
    parts, rest = [], sentence
    while rest:
        at, name = min(((rest.find(f"{{{name}}}"), name) for name in values if f"{{{name}}}" in rest), default=(-1, ""))
        if at < 0:
            parts.append(formula_text(rest))
            break
        parts += [*([formula_text(rest[:at])] if at else []), values[name]]
        rest = rest[at + len(name) + 2 :]
    return "&".join(parts)


def formula_text(text: str) -> str:
    """Return words as a formula has them; it takes 255 signs at a time."""
    doubled = text.replace('"', '""')
    return f'"{doubled}"' if len(text) <= 255 else f'"{text[:250].replace(chr(34), chr(34) * 2)}…"'

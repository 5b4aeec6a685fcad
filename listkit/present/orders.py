"""An order as a table and as JSON."""

from typing import Any

from listkit.compute.orders import Order, OrderLine
from listkit.listing.cells import money_digits
from listkit.model.wholesale import OrderForm
from listkit.present.table import table


def order_text(order: Order, *, confirmed: bool) -> str:
    """Return, under a heading with the version of the sheet, a line a code with its name, pieces and sums; totals."""
    rows = [("code", "name", "pieces", "each", "total")]
    rows += [(line.code, _name(line), str(line.quantity), str(line.each), str(line.total)) for line in order.lines]
    rows.append(("", "", str(order.pieces), "", str(order.total)))
    heading = f"{'Confirmed' if confirmed else 'Ordered'}, by the prices of line sheet {order.version}"
    return "\n".join([heading, *(f"  {line}" for line in table(rows, left=2).splitlines())])


def _name(line: OrderLine) -> str:
    choices = [choice.says for choice in line.line.choices] if line.line else ["display set"]
    return ", ".join((line.entry.name, *choices))


def order_json(order: Order, form: OrderForm) -> dict[str, Any]:
    """Return an order's lines and sums, and what its form says of the buyer."""
    return {
        "sheet": order.version,
        "buyer": dict(form.buyer),
        "lines": [
            {
                "code": line.code,
                "quantity": line.quantity,
                "each": money_digits(line.each),
                "total": money_digits(line.total),
            }
            for line in order.lines
        ],
        "pieces": order.pieces,
        "total": money_digits(order.total),
    }

"""An order as a table and as JSON."""

from typing import Any

from listkit.compute.orders import Order
from listkit.listing.cells import money_digits
from listkit.model.wholesale import OrderForm
from listkit.present.table import table


def order_text(order: Order) -> str:
    """Return a line a code with its pieces and sums, the totals, and the version of the sheet it is priced by."""
    rows = [("code", "pieces", "each", "total")]
    rows += [(line.code, str(line.quantity), str(line.each), str(line.total)) for line in order.lines]
    rows.append(("", str(order.pieces), "", str(order.total)))
    return f"{table(rows, left=1)}\nBy the prices of line sheet {order.version}."


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

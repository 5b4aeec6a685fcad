"""An order as a table and as JSON, and the log of all orders."""

import datetime
from typing import Any

from listkit.actions.order_book import OrderLog, ShopTotal
from listkit.compute.orders import Order, OrderLine
from listkit.ledger.orders import KeptOrder
from listkit.listing.cells import money_digits
from listkit.model.wholesale import OrderForm
from listkit.present.table import DASH, table
from listkit.units.money import Money
from listkit.units.spoken import Spoken


def order_text(order: Order, *, confirmed: bool) -> str:
    """Return, under a heading with the version of the sheet, a line a code with its name, pieces and sums; totals."""
    rows = [("code", "name", "pieces", "each", "total")]
    rows += [(line.code, _name(line), str(line.quantity), str(line.each), str(line.total)) for line in order.lines]
    rows.append(("", "", str(order.pieces), "", str(order.total)))
    begin = f"{'Confirmed' if confirmed else 'Ordered'}, by the prices of line sheet {order.version}"
    heading = f"{begin} · amounts in {order.total.currency}"
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


# On record


def kept_json(order: KeptOrder) -> dict[str, Any]:
    """Return where an order stands."""
    return {
        "number": order.number,
        "reference": order.reference,
        "day": order.day.isoformat(),
        "state": order.state.value,
        "since": order.since.isoformat(),
    }


def kept_line(order: KeptOrder, shop: str, spoken: Spoken) -> str:
    """Return an order in a line: "order 3 of The Thistle Drawer (TD-118), confirmed on 20 January 2027"."""
    reference = f" ({order.reference})" if order.reference else ""
    of = f" of {shop}" if shop else ""
    return f"order {order.number}{of}{reference}, {order.state.value} on {spoken.day(order.since)}"


def ago(last: datetime.date, day: datetime.date) -> str:
    """Return how long before `day` a day was, in weeks from two on.

    >>> [ago(datetime.date(2027, 1, at), datetime.date(2027, 1, 20)) for at in (20, 19, 10, 6)]
    ['today', 'yesterday', '10 days ago', '2 weeks ago']
    """
    days = max(0, (day - last).days)
    if days < 14:
        return ("today", "yesterday")[days] if days < 2 else f"{days} days ago"
    return f"{days // 7} weeks ago"


def log_text(log: OrderLog, day: datetime.date) -> str:
    """Return every order in a line, the latest first, then what each shop has ordered, and when it last did."""
    if not log.orders:
        return "No order is on record yet. listkit order FORM confirms one, and puts it there."
    rows = [("day", "shop", "number", "state", "pieces", "total")]
    for order, buyer in log.orders:
        state = order.state.value if order.since == order.day else f"{order.state.value} {order.since}"
        pieces, total = str(order.facts["pieces"]), f"{order.facts['total']} {order.facts['currency']}"
        rows.append((order.day.isoformat(), buyer.name or DASH, order.reference or DASH, state, pieces, total))
    shops = [("shop", "last order", "orders", "to send", "total")]
    shops += [_shop_row(shop, day) for shop in log.shops]
    return f"{table(rows, left=4)}\n\n{table(shops, left=2)}"


def _shop_row(shop: ShopTotal, day: datetime.date) -> tuple[str, str, str, str, str]:
    last = ago(shop.last, day) if shop.last else "none yet"
    return (
        shop.buyer.name or DASH,
        last,
        str(shop.orders),
        str(shop.open),
        ", ".join(f"{money_digits(total)} {total.currency}" for total in shop.totals),
    )


def _by_currency(total: Money) -> tuple[str, str]:
    return total.currency, money_digits(total)


def log_json(log: OrderLog, day: datetime.date) -> dict[str, Any]:
    """Return every order with its lines, the latest first, and each shop's totals; days are counted up to `day`."""
    return {
        "orders": [
            {
                **kept_json(order),
                "stockist": buyer.code,
                "shop": buyer.name,
                **{name: order.facts[name] for name in ("sheet", "lines", "pieces", "total", "currency")},
            }
            for order, buyer in log.orders
        ],
        "shops": [
            {
                "stockist": shop.buyer.code,
                "shop": shop.buyer.name,
                "orders": shop.orders,
                "to_send": shop.open,
                "total": money_digits(shop.total),
                **({"in_other_currencies": dict(map(_by_currency, shop.others))} if shop.others else {}),
                "last": shop.last.isoformat() if shop.last else None,
                "days_since": (day - shop.last).days if shop.last else None,
            }
            for shop in log.shops
        ],
    }

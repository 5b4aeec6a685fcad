"""An order as a shop sent it: what stands in its form, row by row, nothing judged yet."""

from dataclasses import dataclass
from decimal import Decimal

from listkit.problem import Place


@dataclass(frozen=True, slots=True)
class FormHeadings:
    """What a form names its parts by. `buyer` are a name of ours and the label in the form; so is `sheet` a label.

    The columns of prices stand from `wholesale` on, up to `retail`.
    """

    code: str
    quantity: str
    wholesale: str
    retail: str
    sheet: str
    buyer: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True)
class FormRow:
    """A row in which something is ordered. `quantity` is None where what is `said` there is no whole number.

    `prices` are the ones that the form states: wholesale, then the tiers; None for a cell without a figure.
    """

    place: Place
    code: str
    said: str
    quantity: int | None
    prices: tuple[Decimal | None, ...] = ()


@dataclass(frozen=True, slots=True)
class OrderForm:
    """A form that was filled in. `sheet` is the line sheet's name as it stands there, "" where it names none."""

    file: str
    sheet: str
    buyer: tuple[tuple[str, str], ...]
    rows: tuple[FormRow, ...]

    def says(self, name: str) -> str:
        """Return what the buyer wrote under a name of ours."""
        return dict(self.buyer).get(name, "")

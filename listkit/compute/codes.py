"""Codes of variants: the set's code and each chosen option's part, joined by a hyphen."""

from listkit.model.gift_set import Option


def part_of(option: Option) -> str:
    """Return the option's part of a variant's code: the stated one, else the last part of its item code."""
    return option.part or option.item.rpartition("-")[2]


def variant_code(set_code: str, parts: tuple[str, ...]) -> str:
    """Return the variant's code: variant_code("OHS-1", ("U01",)) is "OHS-1-U01"."""
    return "-".join((set_code, *parts))

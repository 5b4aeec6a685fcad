"""Brakes before a build: what differs so much from the last record that it is told and asked for first."""

import json
from dataclasses import replace
from pathlib import Path

from listkit.cli.opening import Checked
from listkit.cli.report import tell
from listkit.cli.said import lowered_sets, reduction_lines
from listkit.cli.truth import Truth, rows_of
from listkit.ledger.changes import Brake, BrakeRules, brakes
from listkit.ledger.store import LEDGER, Snapshot, difference, parsed
from listkit.problem import FieldError

_MOST_TOLD = 12  # of one channel


def large_changes(shop: Path, checked: Checked, channel: str) -> tuple[tuple[str, Brake], ...]:
    """Return what brakes the build, by channel; `channel` "" asks for all. Nothing brakes what was never recorded."""
    ledger = shop / LEDGER
    if not ledger.exists() and not ledger.is_symlink():
        return ()
    truth = Truth(checked.shop, checked.listings)
    rules = _rules(truth)
    found: list[tuple[str, Brake]] = []
    for key in (one.key for one in checked.shop.channels if channel in ("", one.key)):
        try:
            now = Snapshot(rows_of(truth, key), rules=reduction_lines(truth.own(key)))
            differs = difference(ledger, key, now, sections=("rows", "rules"))
        except FieldError as fault:
            return ((key, Brake("ledger", "", f"{fault.message} {fault.hint}".rstrip())),)
        if differs.record is not None:
            old, new = parsed(differs.old.rows), parsed(differs.new.rows)
            own = replace(rules, lowered=lowered_sets(differs.old.rules) | lowered_sets(differs.new.rules))
            found += [(key, brake) for brake in brakes(old, new, own, alike=differs.alike)]
    return tuple(found)


def _rules(truth: Truth) -> BrakeRules:
    stated = truth.shop.settings.changes
    sets = truth.catalog.sets
    known = frozenset((*(one.code for one in sets), *(variant.code for one in sets for variant in one.variants)))
    return BrakeRules(stated.largest_move, stated.most_moves, known)


def tell_large_changes(found: tuple[tuple[str, Brake], ...], *, as_json: bool) -> None:
    """Name what brakes the build, and how to let it go on."""
    if as_json:
        told = [{"channel": key, "kind": one.kind, "code": one.code, "message": one.message} for key, one in found]
        print(json.dumps({"large_changes": told}, indent=2, ensure_ascii=False))
        return
    for key in dict.fromkeys(key for key, _ in found):
        own = [brake for other, brake in found if other == key]
        for brake in own[:_MOST_TOLD]:
            kind = "Not compared" if brake.kind == "ledger" else "Large change"
            tell(f"{kind} · {key}: {brake.message}")
        if len(own) > _MOST_TOLD:
            tell(f"Large change · {key}: and {len(own) - _MOST_TOLD} more.")
    tell("Nothing was built. If this is as you want it, build again with --accept-large-changes.")

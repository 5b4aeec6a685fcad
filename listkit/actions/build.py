"""A build: everything that a checked shop gives, written where it changed; and the brakes before it."""

from dataclasses import replace
from pathlib import Path

from listkit.actions.facts import lowered_sets, reduction_lines, rows_of
from listkit.actions.outputs import build_jobs
from listkit.ledger.changes import Brake, BrakeRules, brakes
from listkit.ledger.store import LEDGER, Snapshot, difference, parsed
from listkit.pipeline import Checked, Listed
from listkit.problem import FieldError
from listkit.save.asked import output_folder
from listkit.save.made import remember_built, remember_photos
from listkit.save.save import Progress, Saved, nothing, save

ChannelBrake = tuple[str, Brake]
"""The key of a channel, and what brakes a build of it."""


def build_shop(
    checked: Checked, out: Path, *, channel: str = "", workers: int = 1, stamp: str = "", progress: Progress = nothing
) -> Saved:
    """Make what changed in `out`, or one channel's files alone; `workers` pictures at once.

    A `stamp` of all that went in is remembered, so that the next build knows at once whether anything changed.

    Raises:
        FieldError: a build is at work, or nothing can be written.
    """
    out = output_folder(out, checked.shop.root)
    saved = save(
        build_jobs(checked.listings, checked.sheets), out, workers=max(1, workers), channel=channel, progress=progress
    )
    remember_photos(out, checked.photos)
    if stamp and not channel and not saved.failures:
        remember_built(out, stamp, checked.problems)
    return saved


def large_changes(checked: Checked, channel: str) -> tuple[ChannelBrake, ...]:
    """Return what brakes the build, by channel; `channel` "" asks for all.

    A brake is what differs so much from the last record that it is told and asked for first. Nothing brakes what was
    never recorded.
    """
    ledger = checked.shop.root / LEDGER
    if not ledger.exists() and not ledger.is_symlink():
        return ()
    rules = _rules(checked)
    found: list[ChannelBrake] = []
    for key in (each.key for each in checked.shop.channels if channel in ("", each.key)):
        try:
            now = Snapshot(rows_of(checked, key), rules=reduction_lines(checked.listings_of(key)))
            differs = difference(ledger, key, now, sections=("rows", "rules"))
        except FieldError as fault:
            return ((key, Brake("ledger", "", f"{fault.message} {fault.hint}".rstrip())),)
        if differs.record is not None:
            old, new = parsed(differs.old.rows), parsed(differs.new.rows)
            lowered = lowered_sets(differs.old.rules) | lowered_sets(differs.new.rules)
            found += [(key, brake) for brake in brakes(old, new, replace(rules, lowered=lowered), alike=differs.alike)]
    return tuple(found)


def _rules(listed: Listed) -> BrakeRules:
    stated, sets = listed.shop.settings.changes, listed.catalog.sets
    codes = (*(facts.code for facts in sets), *(variant.code for facts in sets for variant in facts.variants))
    return BrakeRules(stated.largest_move, stated.most_moves, frozenset(codes))

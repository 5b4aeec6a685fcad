"""A build: everything that a checked shop gives, written where it changed; and the brakes before it."""

import os
from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path

from listkit.actions.facts import lowered_sets, reduction_lines, rows_of
from listkit.actions.held import NOTHING_HELD, Held, aside_lines, group_of, held_back, kept_paths
from listkit.actions.outputs import Outputs, build_jobs
from listkit.actions.record import built_places
from listkit.ledger.changes import Brake, BrakeRules, brakes
from listkit.ledger.old_codes import in_todays_codes
from listkit.ledger.store import LEDGER, Snapshot, difference, parsed
from listkit.pipeline import Checked, Listed
from listkit.problem import FieldError, must_fix
from listkit.save.asked import output_folder
from listkit.save.made import read_places, remember_built, remember_photos, remember_places
from listkit.save.owner import claim
from listkit.save.save import Progress, Saved, nothing, save
from listkit.write.context import OwnersNotes

ChannelBrake = tuple[str, Brake]
"""The key of a channel, and what brakes a build of it."""


@dataclass(frozen=True, slots=True)
class Built:
    """What came of a build: what was saved, and a line for each thing left out or held back; or what brakes it.

    `saved` is None where it was braked, and nothing was written then.
    """

    saved: Saved | None
    notes: tuple[str, ...] = ()
    brakes: tuple[ChannelBrake, ...] = ()


def build_unless_braked(
    checked: Checked,
    out: Path,
    *,
    channel: str = "",
    accept: bool = False,
    stamp: str = "",
    workers: int = 1,
    progress: Progress = nothing,
) -> Built:
    """Build what can be published, unless prices leap, and remember what the build depended on and printed.

    Args:
        checked: the shop; nothing of it stops the build.
        out: where to write.
        channel: its key; "" for all. A build of one channel is not remembered.
        accept: build though prices leap.
        stamp: what the build depends on; "" where the next one is to look at everything anew.
        workers: how many pictures are made at once.
        progress: called after each file.

    Raises:
        FieldError: a build is at work, or nothing can be written.
    """
    held = held_back(checked)
    if not accept and (brakes := large_changes(checked, channel, held)):
        return Built(None, brakes=brakes)
    notes = tuple(aside_lines(checked, held))
    saved = build_shop(checked, out, held=held, channel=channel, workers=workers, progress=progress)
    if not channel:
        is_whole = not must_fix(checked.problems) and not saved.failures
        remember_built(out, stamp if is_whole else "", checked.problems, notes)
    return Built(saved, notes)


def build_shop(
    checked: Checked,
    out: Path,
    *,
    held: Mapping[str, Held] = NOTHING_HELD,
    channel: str = "",
    workers: int = 1,
    progress: Progress = nothing,
) -> Saved:
    """Make what changed in `out`, or one channel's files alone.

    Args:
        checked: the shop.
        out: where to write.
        held: what is held back, by place: joint files there stay as they are.
        channel: its key; "" for all.
        workers: how many pictures are made at once.
        progress: called after each file.

    Raises:
        FieldError: a build is at work, or nothing can be written.
    """
    out = output_folder(out, checked.shop.root)
    shop = checked.shop
    codes = frozenset((*(item.code for item in shop.items), *(each.code for each in shop.folders)))
    claim(out, shop.root, name=shop.settings.name, codes=codes)
    jobs = tuple(build_jobs(checked.listings, checked.sheets, owners_notes(checked)))
    keep = kept_paths(checked, held, (file for job in jobs for file in job.files), out)
    saved = save(jobs, out, workers=max(1, workers), channel=channel, keep=keep, progress=progress)
    remember_photos(out, checked.photos)
    made = built_places(checked, Outputs(checked, out, jobs=jobs), held, channel)
    remember_places(out, {**(read_places(out) if channel else {}), **made})
    return saved


def owners_notes(checked: Checked) -> OwnersNotes:
    """Return what the proof shows beside the goods: problems, what is left out and why."""
    aside = checked.aside
    shown = {listing.folder for listing in aside.listings}
    unseen = tuple(each for each in aside.broken if each.folder not in shown)
    drafts, broken, without = (
        tuple(each.name or each.code or each.folder for each in folders)
        for folders in (aside.drafts, unseen, aside.without)
    )
    return OwnersNotes(checked.problems, aside.listings, drafts=drafts, broken=broken, without=without)


def large_changes(checked: Checked, channel: str, held: Mapping[str, Held]) -> tuple[ChannelBrake, ...]:
    """Return what brakes the build, by channel; `channel` "" asks for all, `held` is what is held back by place.

    A brake is what differs so much from the last record that it is told and asked for first. Nothing brakes what was
    never recorded.
    """
    ledger = checked.shop.root / LEDGER
    if not os.path.lexists(ledger):
        return ()
    rules = _rules(checked)
    aside = checked.aside.known - {facts.code for facts in checked.catalog.listed}  # in the shop, and not published
    found: list[ChannelBrake] = []
    for key in (each.key for each in checked.shop.channels if channel in ("", each.key)):
        back = held.get(key, Held(key))
        if back.whole:  # all its files stay as they are
            continue
        try:
            now = Snapshot(rows_of(checked, key), rules=reduction_lines(checked.listings_of(key)))
            recorded = difference(ledger, key, now, sections=("rows", "rules"))
        except FieldError as fault:
            return ((key, Brake("ledger", "", f"{fault.message} {fault.hint}".rstrip())),)
        differs = in_todays_codes(recorded, checked.shop.old_codes.now)
        if differs.record is not None:
            old, new = parsed(differs.old.rows), parsed(differs.new.rows)
            lost = aside.union(back.codes)
            old = {code: row for code, row in old.items() if group_of(code, row) not in lost}
            lowered = lowered_sets(differs.old.rules) | lowered_sets(differs.new.rules)
            found += [(key, brake) for brake in brakes(old, new, replace(rules, lowered=lowered), alike=differs.alike)]
    return tuple(found)


def _rules(listed: Listed) -> BrakeRules:
    stated, sets = listed.shop.settings.changes, listed.catalog.listed
    codes = (*(facts.code for facts in sets), *(variant.code for facts in sets for variant in facts.variants))
    return BrakeRules(listed.shop.settings.spoken, stated.largest_move, stated.most_moves, frozenset(codes))

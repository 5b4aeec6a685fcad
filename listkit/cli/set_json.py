"""One set as JSON: money as text, grams and millimetres as numbers, shares from 0 to 1."""

from typing import Any

from listkit.cli.boxes import boxes_json
from listkit.cli.figures import kept_by, plain_number
from listkit.cli.made_with import made_with_json
from listkit.cli.sending import cases_json, sending_json
from listkit.compute.box.fit import Laid, Verdict, verdict_in
from listkit.compute.catalog import Catalog, SetFacts, Variant
from listkit.compute.stock import published
from listkit.model.shop import Photo


def set_json(found: SetFacts, variants: tuple[Variant, ...], catalog: Catalog) -> dict[str, Any]:
    """Return the set with these of its variants."""
    return {
        "code": found.code,
        "name": found.name,
        "box": found.box.code if found.box else None,
        "can_make": found.can_make,
        "boxes": boxes_json(found, variants, catalog),
        "cases": cases_json(found, variants, catalog),
        "photos": [_photo(one) for one in found.source.photos],
        "variants": [_variant(one, found, catalog) for one in variants],
    }


def _variant(one: Variant, found: SetFacts, catalog: Catalog) -> dict[str, Any]:
    weights, verdict = one.weights, _verdict(one, found, catalog)
    grams = {
        "gift_weight": weights.gift,
        "parcel_weight": weights.parcel,
        "volumetric_weight": weights.volumetric,
        "chargeable_weight": weights.chargeable,
    }
    return {
        "code": one.code,
        "options": {choice.slot: choice.item.code for choice in one.choices},
        "gtin": one.gtin,
        "price": str(one.price),
        "steps": [{"label": s.label, "amount": str(s.amount), "running": str(s.running)} for s in one.prices.steps],
        "full_cost": str(one.full_cost),
        "wholesale": str(one.wholesale),
        "kept": {channel.key: str(kept_by(channel, one)) for channel in catalog.shop.channels},
        **{name: plain_number(weight.grams if weight else None) for name, weight in grams.items()},
        "fill_share": plain_number(one.fill_share),
        "fits": verdict.fits if verdict else None,
        "proof": verdict.proof if verdict else None,
        **sending_json(found, one, catalog),
        **made_with_json(one, catalog.shop),
        "layout": [_laid(one) for one in verdict.layout] if verdict else [],
        "can_make": one.can_make,
        "stock": published(one.can_make, catalog.shop.settings.stock.hold_back),
    }


def _photo(photo: Photo) -> dict[str, Any]:
    """What is known of a photo, and why it is cut where it is."""
    facts, focus = photo.facts, photo.focus or photo.facts.found
    return {
        "file": photo.file,
        "shot": photo.shot,
        "width": facts.width,
        "height": facts.height,
        "focus": [float(side) for side in (focus.left, focus.top, focus.right, focus.bottom)],
        "how": "stated" if photo.focus else facts.how_found,
        "sharpness": float(facts.sharpness),
        "brightness": float(facts.brightness),
        "profile": facts.profile,
        "shows": list(photo.shows),
    }


def _verdict(one: Variant, found: SetFacts, catalog: Catalog) -> Verdict | None:
    if found.box is None:
        return None
    stacked = found.source.gift_set.stacked
    return verdict_in(found.box, one.pieces, catalog.shop.settings.packing, stacked=stacked)


def _laid(laid: Laid) -> dict[str, Any]:
    sides = {"x": laid.x, "y": laid.y, "z": laid.z, "length": laid.length, "width": laid.width, "height": laid.height}
    return {"item": laid.code, **{side: plain_number(mm) for side, mm in sides.items()}}

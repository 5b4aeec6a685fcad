"""Sets: what is sold. A wall by season, drafts and what cannot be computed apart; a new set."""

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import Response

from listkit.actions.new_set import ProposalList, as_proposal, proposals_for
from listkit.check.scope import Scopes
from listkit.compute.catalog import SetFacts
from listkit.compute.proposals import Proposals, SetProposal
from listkit.compute.sales import sale_on
from listkit.compute.seasons import Phase, phase_of
from listkit.desk import changes, saving
from listkit.desk.edits import Role, Target
from listkit.desk.page import Desk, any_of, in_full, page, price_text, say, set_address, shot_word, text_of
from listkit.desk.set_files import EMPTY, new_set
from listkit.desk.state import Seen
from listkit.desk.wording import language
from listkit.edit.new_set import slot_name
from listkit.listing.formats import list_text
from listkit.model.fields import SetStatus
from listkit.model.settings import Season
from listkit.model.shop import FolderRead, Shop
from listkit.pipeline import Checked
from listkit.problem import FieldError, Level, Problem
from listkit.units.spoken import date_text, money_text

_MOST_TAKEN: Final = 4  # sets that are named, of those that a proposal takes from


@dataclass(frozen=True, slots=True)
class Tile:
    """A set on the wall; `picture` is the name of its photo, "" without one; `to_mend` counts problems to fix.

    `price`, `kept` and `stock` are words, "" where they are not known.
    """

    code: str
    name: str
    address: str
    picture: str
    picture_alt: str
    price: str
    kept: str
    stock: str
    status: str
    to_mend: int
    to_look: int


@dataclass(frozen=True, slots=True)
class Shelf:
    """Sets that stand together on the wall: of a season with its days, drafts, or what cannot be computed."""

    title: str
    days: str
    tiles: tuple[Tile, ...]


def show(desk: Desk, request: Request) -> Response:
    """Return the wall."""
    seen, full = desk.shop_state.look(), desk.shop_state.full(wait=0.2)
    problems = full.problems if full is not None and not full.fault else seen.opened.problems
    shelves = tuple(wall(seen, problems))
    return page(desk, request, "sets", shelves=shelves, how_many=sum(len(shelf.tiles) for shelf in shelves))


def wall(seen: Seen, problems: tuple[Problem, ...]) -> Iterator[Shelf]:
    """Yield the sets by season, those on now first; then drafts, then folders that cannot be computed."""
    shop, counts = seen.opened.shop, _counts(problems, seen.opened.shop)
    computed = {facts.source.folder: facts for facts in seen.catalog.sets}
    finished = [facts for facts in computed.values() if facts.source.gift_set.status is not SetStatus.DRAFT]
    seasons = sorted(shop.settings.seasons, key=lambda season: (_order(season, seen), season.on_sale, season.name))
    for season in (*seasons, None):
        tiles = tuple(_tile(facts, seen, counts) for facts in finished if facts.season == season)
        if tiles:
            yield Shelf(season.name if season else say("sets.any_time"), _days(season, seen), tiles)
    drafts = [facts for facts in computed.values() if facts.source.gift_set.status is SetStatus.DRAFT]
    if drafts:
        yield Shelf(say("sets.drafts"), say("sets.drafts_note"), tuple(_tile(facts, seen, counts) for facts in drafts))
    lost = [each for each in shop.folders if not each.is_single and each.folder not in computed]
    if lost:
        tiles = tuple(
            Tile(
                code=each.code,
                name=each.name or each.folder,
                address=set_address(each.code or each.folder),
                picture="",
                picture_alt="",
                price="",
                kept="",
                stock="",
                status="draft" if each.draft else "",
                to_mend=counts[each.folder, Level.MUST_FIX],
                to_look=counts[each.folder, Level.LOOK_AT],
            )
            for each in lost
        )
        yield Shelf(say("sets.lost"), say("sets.lost_note"), tiles)


def _order(season: Season, seen: Seen) -> int:
    return (Phase.ON_SALE, Phase.NOT_YET, Phase.OVER).index(phase_of(season, seen.day))


def _days(season: Season | None, seen: Seen) -> str:
    if season is None:
        return ""
    language = seen.opened.shop.settings.language
    phase = phase_of(season, seen.day)
    on_sale, off_sale = (date_text(day, language) for day in (season.on_sale, season.off_sale))
    if phase is Phase.NOT_YET:
        return say("sets.from", day=on_sale)
    return say("sets.until" if phase is Phase.ON_SALE else "sets.ended", day=off_sale)


def _counts(problems: tuple[Problem, ...], shop: Shop) -> Counter[tuple[str, Level]]:
    """Count the problems of each folder under sets/ by their level; what must be mended of an item is each set's."""
    places = ((each.place.file.split("/"), each.level) for each in problems)
    counts = Counter((parts[1], level) for parts, level in places if parts[0] == "sets" and len(parts) > 2)
    items = (each for each in problems if each.place.file == shop.items_file and each.level is Level.MUST_FIX)
    scopes = Scopes(shop)
    counts.update((folder, Level.MUST_FIX) for each in items for folder in scopes.of(each).folders)
    return counts


def _tile(facts: SetFacts, seen: Seen, counts: Counter[tuple[str, Level]]) -> Tile:
    source = facts.source
    photo = source.front
    return Tile(
        code=facts.code,
        name=facts.name,
        address=set_address(facts.code),
        picture=photo.name if photo else "",
        picture_alt=(photo.alt or say("sets.picture_of", shot=shot_word(photo.shot or "picture"), name=facts.name))
        if photo
        else "",
        price=price_text(facts, seen.opened.shop),
        kept=kept_text(facts, seen),
        stock=stock_text(facts.can_make),
        status=source.gift_set.status.value,
        to_mend=counts[source.folder, Level.MUST_FIX],
        to_look=counts[source.folder, Level.LOOK_AT],
    )


def kept_text(facts: SetFacts, seen: Seen) -> str:
    """Return what is kept of one sale at least, and on which place; "" without places."""
    amount, place = least_kept(facts, seen)
    return say("sets.keeps", amount=amount, place=place) if amount else ""


def least_kept(facts: SetFacts, seen: Seen) -> tuple[str, str]:
    """Return the least that is kept of one sale, and the place that leaves it; "" without places."""
    shop = seen.opened.shop
    sales = [
        (sale_on(channel, variant, facts, shop).kept, channel.name)
        for channel in shop.channels
        for variant in facts.variants
    ]
    if not sales:
        return "", ""
    least, name = min(sales, key=lambda each: each[0].amount)
    return money_text(least.amount, least.currency, shop.settings.language), name


def stock_text(can_make: int | None) -> str:
    """Return how many can be made, in words."""
    return say("sets.uncounted") if can_make is None else say("sets.can_make", count=can_make)


# A new set


def show_new(desk: Desk, request: Request, *, fault: str = "", name: str = "", begin: str = "") -> Response:
    """Return the page on which a new set begins."""
    others = [(each.gift_set.code, each.gift_set.name) for each in desk.shop_state.look().opened.shop.sets]
    begins = [("", say("new_set.from_stock")), (EMPTY, say("new_set.from_nothing"))]
    begins += [(code, say("new_set.from_other", name=other, code=code)) for code, other in sorted(others)]
    of = {"fault": fault, "name": name, "begin": begin, "begins": begins}
    return page(desk, request, "sets", template="new_set", **of, status=422 if fault else 200)


def make_new(desk: Desk, request: Request, form: FormData) -> Response:
    """Make a set and go to it; what cannot be made is said on the page, with what was typed."""
    name, begin = text_of(form, "name"), text_of(form, "begin")
    if not name:
        return show_new(desk, request, fault=say("sets.name_missing"), begin=begin)
    kind = changes.Kind(desk.now(), agreed=saving.agreed(form))
    outcome, code = new_set(desk.shop_state.folder, name, desk.shop_state.today(), kind, begin)

    def wrong(refused: changes.Outcome) -> Response:
        fault = in_full(*refused.wrong)
        return show_new(desk, request, fault=fault, name=name, begin=begin)

    saved = saving.Saved(set_address(code), say("sets.made", name=name), wrong=wrong)
    return saving.answer(desk, request, form, outcome, saved=saved)


# Proposals, a card each


@dataclass(frozen=True, slots=True)
class _Wished:
    """What proposals are asked for: the place that they are to leave enough on, "" for all; one scent or not."""

    place: str
    one_scent: bool

    def proposals(self, desk: Desk) -> ProposalList:
        """Return what could be made; raises FieldError where the place takes nothing."""
        state = desk.shop_state
        return proposals_for(state.folder, state.today(), self.place, one_scent=self.one_scent)


_NOTHING: Final = Proposals((), 0, 0)


def show_proposals(desk: Desk, request: Request) -> Response:
    """Return the sets that could be made of what is on hand, for a place and with one scent where that is asked."""
    asked = request.query_params
    return _proposals(desk, request, _Wished(asked.get("place", "")[:200], one_scent="one_scent" in asked))


def _proposals(
    desk: Desk, request: Request, wished: _Wished, *, fault: str = "", name: str = "", codes: str = ""
) -> Response:
    """Return the page of proposals; `name` and `codes` are what was typed and at which."""
    try:
        proposed = wished.proposals(desk)
    except FieldError as refused:
        proposals, cards, fault = _NOTHING, tuple[ProposalCard, ...](), in_full(refused)
    else:
        proposals = proposed.proposals
        cards = tuple(_proposal_card(each, proposed) for each in proposals.best)
    return page(
        desk,
        request,
        "sets",
        template="proposals",
        status=422 if fault else 200,
        fault=fault,
        name=name,
        chosen=codes if any(card.codes == codes for card in cards) else "",
        cards=cards,
        missing=proposals.missing,
        three=proposals.of_three,
        four=proposals.of_four,
        left_out=proposals.left_out,
        is_cut=proposals.is_cut,
        wished=wished,
        places=[(each.key, each.name) for each in desk.shop_state.look().opened.shop.channels],
    )


@dataclass(frozen=True, slots=True)
class ProposalCard:
    """A proposal in words, things by their names: its pieces, why, what it comes to; and its codes, for the form."""

    title: str
    why: tuple[str, ...]
    figures: tuple[str, ...]
    codes: str


def _proposal_card(each: SetProposal, proposed: ProposalList) -> ProposalCard:
    fixed = " + ".join(map(proposed.shop.naming.of, each.fixed))
    options = any_of(map(proposed.shop.naming.of, each.options))
    return ProposalCard(
        title=say("proposals.pieces", fixed=fixed, slot=slot_name(each.options), options=options),
        why=tuple(_why_proposed(each, proposed)),
        figures=tuple(_figures_of(each, proposed.shop)),
        codes=" ".join(each.codes),
    )


def _why_proposed(each: SetProposal, proposed: ProposalList) -> Iterator[str]:
    """Yield what speaks for a proposal: what is on hand and hardly went, what sold, what an hour leaves."""
    called = proposed.shop.naming.of
    sold, pieces = proposed.sold, (*each.fixed, each.options[0])
    for item in pieces:
        went, there = max(0, sold.get(item.code, 0)), item.on_hand or 0
        if not any(sold.values()):
            yield say("proposals.there", count=there, name=called(item))
        elif there and went * 2 < there:
            yield say("proposals.lies", count=there, name=called(item), went=went)
        elif went:
            yield say("proposals.went", count=went, name=called(item))
    if each.per_hour is not None:
        currency, shown_in = each.facts.cheapest.currency, proposed.shop.settings.language
        yield say("proposals.hour", amount=money_text(each.per_hour, currency, shown_in))


def _figures_of(each: SetProposal, shop: Shop) -> Iterator[str]:
    """Yield price, box, weight, how many can be made, and the sets that take the same pieces."""
    facts, names = each.facts, {one.gift_set.code: one.gift_set.name for one in shop.sets}
    yield price_text(facts, shop)
    heaviest = max(variant.weights.parcel or variant.weights.gift for variant in facts.variants)
    weight = shop.settings.measures.weight(heaviest, rounded=True)
    yield say("proposals.boxed", box=facts.box.code if facts.box else "", weight=weight)
    yield stock_text(facts.can_make)
    if each.takes:
        named = list_text(tuple(names.get(code, code) for code, _ in each.takes[:_MOST_TAKEN]), language())
        yield say("proposals.takes", names=named)


def make_proposed(desk: Desk, request: Request, form: FormData) -> Response:
    """Make a proposal into a set and go to it; one that is no longer among the best is said on the page."""
    name, codes = text_of(form, "name"), text_of(form, "codes")
    wished = _Wished(text_of(form, "place"), one_scent=bool(text_of(form, "one_scent")))
    try:
        best = wished.proposals(desk).proposals.best
    except FieldError:
        return _proposals(desk, request, wished)
    chosen = next((each for each in best if " ".join(each.codes) == codes), None)
    if not name or chosen is None:
        fault = say("proposals.moved") if chosen is None else say("sets.name_missing")
        return _proposals(desk, request, wished, fault=fault, name=name, codes=codes)
    kind = changes.Kind(desk.now(), agreed=saving.agreed(form))
    folder, day = desk.shop_state.folder, desk.shop_state.today()
    outcome, code = new_set(folder, name, day, kind, chosen=as_proposal(chosen))

    def wrong(refused: changes.Outcome) -> Response:
        fault = " ".join(f"{each.message} {each.hint}".strip() for each in refused.wrong)
        return _proposals(desk, request, wished, fault=fault, name=name, codes=codes)

    saved = saving.Saved(set_address(code), say("sets.made", name=name), wrong=wrong)
    return saving.answer(desk, request, form, outcome, saved=saved)


# A set by its code; taking one away


def folder_of(seen: Seen, code: str) -> FolderRead | None:
    """Return the folder of a set by its code, sound or not; a folder's own name will do."""
    folders = tuple(each for each in seen.opened.shop.folders if not each.is_single)
    return next((each for each in folders if each.code == code), None) or next(
        (each for each in folders if each.folder == code), None
    )


def problems_of(desk: Desk, seen: Seen, read: FolderRead, checked: Checked | None) -> tuple[tuple[Problem, ...], bool]:
    """Return what is known to be wrong in a set's folder, and whether that is all.

    Until all is checked it is what `checked`, the set alone, shows; of photos once they are measured.
    """
    full = desk.shop_state.full()
    fresh = full is not None and full.number == seen.number and not full.fault
    alone = checked.problems if checked and not seen.opened.waiting else ()
    problems = full.problems if full is not None and fresh else (*seen.opened.problems, *alone)
    return tuple(each for each in problems if each.place.file.startswith(f"sets/{read.folder}/")), fresh


def show_delete(desk: Desk, request: Request) -> Response:
    """Ask whether a set is to be taken away."""
    state, code = desk.shop_state, request.path_params["code"]
    if folder_of(state.look(), code) is None:
        return page(desk, request, "sets", template="nothing", status=404)
    target = Target(Role.SET, code)
    digest = changes.see(state.folder, target).digest  # before the look: what is shown is never older than the digest
    read = folder_of(state.look(), code)
    if read is None:
        return page(desk, request, "sets", template="nothing", status=404)
    return page(desk, request, "sets", template="delete_set", read=read, target=target, digest=digest)


def delete(desk: Desk, request: Request, form: FormData) -> Response:
    """Take a set's folder away; the past keeps it."""
    code = request.path_params["code"]
    shown = saving.shown_in(form).get(Target(Role.SET, code), "")
    kind = changes.Kind(desk.now(), agreed=saving.agreed(form))
    outcome = changes.delete_set(desk.shop_state.folder, code, shown, kind)
    return saving.answer(desk, request, form, outcome, saved=saving.Saved("/sets", say("delete.done", code=code)))

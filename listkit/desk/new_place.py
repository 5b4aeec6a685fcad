"""A new place: of a kind that gives no sample, or from a sample file, each column of which is decided by choosing."""

from collections.abc import Mapping

from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from listkit.actions.learn import (
    PLACE_KINDS,
    PlaceFile,
    SampleRead,
    field_meanings,
    place_choices,
    place_from_sample,
    place_of_kind,
    understand_sample,
)
from listkit.desk import changes, saving
from listkit.desk.changes import Came, Outcome
from listkit.desk.column_words import asked
from listkit.desk.feed import fact_words
from listkit.desk.page import Desk, in_full, page, say, sentence, text_of
from listkit.desk.places import place_address
from listkit.desk.sent import sent_file
from listkit.desk.start import LEFT_ALONE, chosen_in, columns_mark, is_of_another
from listkit.edit.files import free_channel
from listkit.problem import FieldError
from listkit.read.folder import CHANNELS


def show(desk: Desk, request: Request, *, fault: str = "", name: str = "", kind: str = "") -> Response:
    """Return the page on which a place begins, with what was typed before."""
    status = 422 if fault else 200
    return page(
        desk,
        request,
        "places",
        template="new_place",
        kinds=PLACE_KINDS,
        fault=fault,
        name=name,
        kind=kind,
        status=status,
    )


def make_kind(desk: Desk, request: Request, form: FormData) -> Response:
    """Make a place of one of the kinds that give no sample."""
    name, kind = text_of(form, "name"), text_of(form, "kind")
    try:
        if not name or kind not in PLACE_KINDS:
            raise FieldError(say("new_place.name_missing" if not name else "new_place.kind_missing"), "")
        file = place_of_kind(desk.shop_state.folder, name, kind)
        return _made(desk, request, form, file=file, name=name)
    except FieldError as fault:
        return show(desk, request, fault=in_full(fault), name=name, kind=kind)


def take_sample(desk: Desk, request: Request, form: FormData) -> Response:
    """Read the sample that was dropped on the page, and show its columns."""
    name = text_of(form, "name")
    try:
        sent = sent_file(form, "sample")
        if sent is None:
            return show(desk, request, fault=say("new_place.no_sample"), name=name)
        read = desk.sample = understand_sample(sent.name, sent.content)
    except FieldError as fault:
        return show(desk, request, fault=in_full(fault), name=name)
    return _columns(desk, request, read, name=name)


def show_columns(desk: Desk, request: Request) -> Response:
    """Return the sample's columns: what each was taken for, how surely, and its cells; without a sample the start."""
    read = desk.sample
    return _columns(desk, request, read) if read else RedirectResponse("/places/new", 303)


def _columns(
    desk: Desk,
    request: Request,
    read: SampleRead,
    *,
    name: str = "",
    chosen: Mapping[int, str] | None = None,
    fault: str = "",
) -> Response:
    choices = place_choices(read)
    return page(
        desk,
        request,
        "places",
        template="sample_columns",
        read=read,
        file=read.sample.file,
        rows=len(read.sample.rows),
        columns=[asked(choice, _called) for choice in choices],
        mark=columns_mark(read.sample.file, choices),
        chosen=chosen or {},
        every=[field for field, _ in field_meanings()],
        called=_called,
        means=lambda _: "",
        left_alone=LEFT_ALONE,
        name=name,
        fault=fault,
        status=422 if fault else 200,
    )


def _called(name: str) -> str:
    return sentence(fact_words(name))


def make_from_sample(desk: Desk, request: Request, form: FormData) -> Response:
    """Make the place with what was chosen for its columns."""
    read, name = desk.sample, text_of(form, "name")
    if read is None:
        return RedirectResponse("/places/new", 303)
    if is_of_another(form, columns_mark(read.sample.file, place_choices(read))):
        return _columns(desk, request, read, name=name, fault=say("columns.moved"))
    chosen = chosen_in(form, len(read.matches))
    try:
        if not name:
            raise FieldError(say("new_place.name_missing"), "")
        decided = {at: "" if says == LEFT_ALONE else says for at, says in chosen.items()}
        file = place_from_sample(desk.shop_state.folder, name, read, decided)
        return _made(desk, request, form, file=file, name=name, read=read)
    except FieldError as fault:
        return _columns(desk, request, read, name=name, chosen=chosen, fault=in_full(fault))


def _made(
    desk: Desk, request: Request, form: FormData, *, file: PlaceFile, name: str, read: SampleRead | None = None
) -> Response:
    """Write a place's file, as a change that can be taken back, and go to the place; its sample is done with."""
    folder = desk.shop_state.folder
    free_channel(folder, file.key)
    what = say("new_place.made", name=name)
    kind = changes.Kind(desk.now(), what, saving.agreed(form))
    outcome = changes.put_files(folder, {f"{CHANNELS}/{file.key}.toml": file.content}, kind, fresh=True)
    if outcome.came is Came.DONE and desk.sample is read:
        desk.sample = None

    def wrong(refused: Outcome) -> Response:
        fault = in_full(*refused.wrong)
        return show(desk, request, fault=fault, name=name)

    return saving.answer(desk, request, form, outcome, saved=saving.Saved(place_address(file.key), what, wrong=wrong))

"""What goes to a place and comes from it: one ZIP with everything, what is remembered once it is published, and what
the place shows now, held against the shop."""

import re
from dataclasses import dataclass
from typing import Final

from markupsafe import escape
from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response, StreamingResponse

from listkit import __version__, bounds
from listkit.actions.compare import Comparison, compare_export, faults_on, understand_export, write_corrections
from listkit.actions.pack import pack_of, streamed
from listkit.actions.record import Recording, take_back
from listkit.desk.guard import FileOnDisk, seal_of
from listkit.desk.page import Desk, page, say, text_of, went_well
from listkit.desk.places import channel_of, checked_now, known, place_address, place_files
from listkit.desk.sent import number_in, sent_file
from listkit.desk.today import built_file, is_behind, made_file, moved_of
from listkit.ledger.compare import Compared, Differing, always_differs
from listkit.ledger.moments import local_time
from listkit.ledger.store import OtherRecordError, Stamp
from listkit.pipeline import WHOLESALE, Checked
from listkit.present.compare import Marked, around_marks, differing_words
from listkit.present.history import recorded_text
from listkit.problem import FieldError, Problem
from listkit.write.proof import LAST, is_proof, page_policy

PAGE: Final = 200
"""Differences of a page."""
_NOT_COMPARED: Final[tuple[str, Comparison | None]] = "", None
_MOST_CODES: Final = 40
_NOTE: Final = 200  # letters
_HEAD_ENDS: Final = re.compile(r"</head>", re.IGNORECASE)
_BODY: Final = re.compile(r"<body[^>]*>", re.IGNORECASE)


# Everything for a place


def download(desk: Desk, request: Request) -> Response:
    """Return all that the last build made for a place as one ZIP, while it is put together.

    Where the shop was changed since, it goes out only to one who asks for it `as=built`.
    """
    key, checked = request.path_params["key"], checked_now(desk)
    pack = pack_of(checked, key, desk.shop_state.out)
    if pack.behind and request.query_params.get("as") != "built":
        return page(desk, request, "places", template="behind", key=key, name=checked.name(key), status=409)
    headers = {"content-disposition": f'attachment; filename="{pack.name}"'}
    return StreamingResponse(streamed(pack), media_type="application/zip", headers=headers)


# What it will show


def show_proof(desk: Desk, request: Request) -> Response:
    """Return a page of the proof with its own script, the one that is shipped or the shop's, and a way back.

    Any other file that lies beside it is shown as files of a build are.
    """
    file, keep = made_file(desk, request.path_params["path"]), "keep" in request.query_params
    if file is None or not is_proof(file.name) or keep or file.stat().st_size > bounds.PROOF_BYTES:
        return built_file(desk, request)
    templates = desk.shop_state.look().opened.shop.templates
    text = file.read_text(encoding="utf-8", errors="replace")  # somebody may have changed it since
    behind = f'<p role="alert"><strong>{escape(say("behind.files"))}</strong></p>' if is_behind(desk) else ""
    icon = '<link rel="icon" href="/static/mark.svg">'
    back = (
        f'<p><a href="/build">{escape(say("build.back"))}</a> · <a href="/places">{escape(say("place.back"))}</a></p>'
    )
    text = _HEAD_ENDS.sub(lambda end: f"{icon}\n{end[0]}", text, count=1)
    text = _BODY.sub(lambda begin: f"{begin[0]}\n{back}{behind}", text, count=1)
    policy = f"{page_policy(templates[LAST])}; frame-ancestors 'none'"
    return HTMLResponse(text, headers={"content-security-policy": policy})


# It is published


def show_publish(desk: Desk, request: Request, *, fault: FieldError | None = None) -> Response:
    """Return the page that says what exactly will be remembered once she says that a place is published."""
    key = request.path_params["key"]
    seen, full, fresh = known(desk, 2.0)
    if key not in (*place_files(desk), WHOLESALE):
        return page(desk, request, "places", template="nothing", status=404)
    channel, planned = channel_of(seen, key), None
    if fresh and full is not None and full.checked is not None and fault is None:
        try:
            planned = _recording(desk, full.checked, "").planned(key)
        except FieldError as unfit:
            fault = unfit
    moved = next((each for each in full.changes if each.key == key), None) if full else None
    return page(
        desk,
        request,
        "places",
        template="publish",
        key=key,
        name=channel.name if channel else say("places.shops") if key == WHOLESALE else key,
        planned=planned,
        last_time=local_time(planned.last.at) if planned and planned.last else "",
        seal=seal_of(planned) if planned else "",
        moved=moved_of(moved) if moved else None,
        fault=fault,
        fresh=fresh,
        status=409 if fault else 200,
    )


def _recording(desk: Desk, checked: Checked, note: str) -> Recording:
    at = desk.now().astimezone().isoformat(timespec="seconds")
    return Recording(checked, desk.shop_state.out, Stamp(at, note, __version__))


def publish(desk: Desk, request: Request, form: FormData) -> Response:
    """Record a place as published, as `listkit record` does; not where it is no longer what the page has shown."""
    key = request.path_params["key"]
    checked = checked_now(desk)
    recording = _recording(desk, checked, text_of(form, "note")[:_NOTE])
    try:
        if seal_of(recording.planned(key)) != text_of(form, "seal"):
            raise FieldError(say("publish.moved"), say("publish.moved_hint"))
        recorded = recording.record(key)
    except FieldError as fault:
        return show_publish(desk, request, fault=fault)
    is_plain = recorded.record is not None and not recorded.late and not recorded.sheet
    note = say("publish.done", place=checked.name(key)) if is_plain else recorded_text(recorded)
    return went_well(desk, f"/places#{key}", note)


def unpublish(desk: Desk, request: Request, form: FormData) -> Response:
    """Take the last record of a place back; nothing is deleted."""
    key, at = request.path_params["key"], desk.now().astimezone().isoformat(timespec="seconds")
    shown = number_in(text_of(form, "record"))
    try:
        taken = take_back(desk.shop_state.folder, key, Stamp(at, "", __version__), number=shown)
    except OtherRecordError:  # taken back, or published again, on another page
        return show_publish(desk, request, fault=FieldError(say("publish.moved"), say("publish.moved_hint")))
    return went_well(desk, f"/places#{key}", say("publish.taken_back", place=taken.channel))


# What it shows now


@dataclass(frozen=True, slots=True)
class Difference:
    """A cell that differs, both sides in parts of which those that the other has not are marked."""

    of: Differing
    ours: Marked
    theirs: Marked


@dataclass(frozen=True, slots=True)
class ComparedPage:
    """A page of what differs, and in short what is missing, unknown or not compared."""

    differences: tuple[Difference, ...]
    page: int
    pages: int
    missing: tuple[str, ...]
    unknown: tuple[str, ...]
    always: tuple[str, ...]


def show_compare(
    desk: Desk,
    request: Request,
    *,
    fault: FieldError | None = None,
    faults: tuple[Problem, ...] = (),
    moved: bool = False,
) -> Response:
    """Return the page on which an export is dropped, with the last comparison; `moved`: another one was asked for."""
    key, number = request.path_params["key"], request.query_params.get("page", "")
    channel = channel_of(desk.shop_state.look(), key)
    if channel is None:
        return page(desk, request, "places", template="nothing", status=404)
    seal, last = desk.compared.get(key, _NOT_COMPARED) if fault is None and not faults else _NOT_COMPARED
    wanted = int(number) if number.isdecimal() and len(number) < 8 else 1
    return page(
        desk,
        request,
        "places",
        template="compare",
        channel=channel,
        last=last,
        shown=compared_page(last.compared, wanted) if last else None,
        seal=seal,
        moved=moved,
        most=_MOST_CODES,
        fault=fault,
        faults=faults,
        status=422 if fault or faults else 409 if moved else 200,
    )


def compared_page(compared: Compared, wanted: int) -> ComparedPage:
    """Return the page of a comparison that is wanted, from 1, or the last; its cells alone are taken apart."""
    pages = max(1, -(-len(compared.differences) // PAGE))
    number = min(max(wanted, 1), pages)
    chosen = compared.differences[(number - 1) * PAGE : number * PAGE]
    return ComparedPage(
        differences=tuple(
            Difference(each, *map(around_marks, differing_words(each.ours, each.theirs))) for each in chosen
        ),
        page=number,
        pages=pages,
        missing=compared.missing_there[:_MOST_CODES],
        unknown=compared.unknown_there[:_MOST_CODES],
        always=always_differs(compared),
    )


def take_export(desk: Desk, request: Request, form: FormData) -> Response:
    """Hold an export that was dropped against what the place would show; it is kept nowhere."""
    key, sent = request.path_params["key"], sent_file(form, "export")
    if sent is None:
        return show_compare(desk, request, fault=FieldError(say("compare.no_file")))
    checked = checked_now(desk)
    seen = desk.shop_state.look()
    whole = Checked(seen.opened.shop, checked.listings, checked.day, checked.problems)
    if faults := faults_on(whole, key):
        return show_compare(desk, request, faults=faults)
    desk.compared.pop(key, None)
    try:
        opened = understand_export(checked, key, sent.name, sent.content)
        compared = compare_export(checked, opened)
    except FieldError as fault:
        return show_compare(desk, request, fault=FieldError(f"{sent.name}: {fault.message}", fault.hint))
    last = Comparison(sent.name, opened.likely, compared)
    desk.compared[key] = seal_of(last), last
    return went_well(desk, place_address(key, "compare"))


def corrections(desk: Desk, request: Request, form: FormData) -> Response:
    """Write the rows that would mend what differs, as `listkit compare` does, and give them out."""
    key, checked = request.path_params["key"], checked_now(desk)
    channel, (seal, last) = checked.channel(key), desk.compared.get(key, _NOT_COMPARED)
    if channel is None or last is None:
        raise FieldError(say("compare.none_yet"), "")
    if text_of(form, "seal") != seal:  # another page has dropped another export
        return show_compare(desk, request, moved=True)
    out = desk.shop_state.out
    written = write_corrections(out, checked, channel, last.compared)
    if not written:
        raise FieldError(say("compare.nothing_to_mend"), "")
    headers = {"cache-control": "no-store"}
    return FileOnDisk(
        out / written[0],
        media_type="text/csv",
        filename=f"{key}-corrections.csv",
        content_disposition_type="attachment",
        headers=headers,
    )

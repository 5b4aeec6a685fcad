"""What else names a thing: an item that is taken away, which nothing may use; another code, which goes everywhere."""

from collections.abc import Iterator, Mapping, Sequence

from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import Response

from listkit.actions.rename import Rename, plan_rename
from listkit.desk import changes, saving
from listkit.desk.changes import Wrong
from listkit.desk.edits import Edit, Role, look, names
from listkit.desk.items import item_address, key_of, line_of
from listkit.desk.page import Desk, page, say, set_address, text_of
from listkit.desk.shelf import LINE, ROW, TARGET, sheet_lines
from listkit.desk.state import Seen
from listkit.desk.tables import Lines, TakeRow, lines_of
from listkit.edit.toml import value_at
from listkit.problem import FieldError

# A row taken away


def show_take(desk: Desk, request: Request) -> Response:
    """Ask whether a row is to be taken away; where something still uses its item, say what."""
    return _show_take(desk, request, key_of(request.query_params))


def _show_take(desk: Desk, request: Request, key: str | int, wrong: Sequence[Wrong] = ()) -> Response:
    seen, file = desk.shop_state.look(), changes.see(desk.shop_state.folder, TARGET)
    lines = sheet_lines(desk, file)
    line = line_of(lines, key)
    if line is None:
        return page(desk, request, "shelf", template="nothing", status=404)
    code = line.cells.get("code", "")
    return page(
        desk,
        request,
        "shelf",
        template="take_item",
        name=line.cells.get("name") or code or say("shelf.unnamed", line=line.line),
        key=(LINE, str(key)) if isinstance(key, int) else (ROW, key),
        back=item_address(key),
        users=tuple(users_of(desk, seen, lines, code)) if code else (),
        wrong=[f"{each.message} {each.hint}".strip() for each in wrong],
        file=file,
        target=TARGET,
        status=422 if wrong else 200,
    )


def take(desk: Desk, request: Request, form: FormData) -> Response:
    """Take a row away that nothing uses; the past keeps it."""
    key, seen = key_of(form), desk.shop_state.look()
    lines = sheet_lines(desk, changes.see(desk.shop_state.folder, TARGET))
    line = line_of(lines, key)
    code = line.cells.get("code", "") if line is not None else ""
    if line is None or (code and any(users_of(desk, seen, lines, code))):
        return _show_take(desk, request, key)
    what = say("item.taken", name=line.cells.get("name") or code or say("shelf.unnamed", line=line.line))
    saved = saving.Saved("/shelf", what, what=what, wrong=lambda outcome: _show_take(desk, request, key, outcome.wrong))
    return saving.save(desk, request, form, edits=[Edit(TARGET, TakeRow(key))], saved=saved)


def users_of(desk: Desk, seen: Seen, lines: Lines, code: str) -> Iterator[tuple[str, str]]:
    """Yield what names an item, sound or not: what to call it, and its address on the desk, "" without one."""
    shop, files = seen.opened.shop, look(desk.shop_state.folder)
    called = {each.folder: (each.name or each.folder, each.code or each.folder) for each in shop.folders}
    for path, target in names(files):
        content = changes.see(files.root, target, files).content
        if target.role is Role.ITEMS or target.role is Role.STORY or code.encode() not in content:
            continue
        if target.is_table:
            if any(code in line.cells.values() for line in lines_of(path, content, files.form(target.role)).rows):
                yield path, ""
        elif _names_code(content, code):
            name, of = called.get(target.code, (path, "")) if target.role is Role.SET else (path, "")
            yield name, set_address(of) if of else ""
    for line in lines.rows:
        if line.cells.get("larger") == code:
            key = line.cells.get("code") or line.line
            yield line.cells.get("name") or str(key), item_address(key)
    if any(move.code == code for move in shop.movements.moves):
        yield say("item.counted"), ""


def _names_code(content: bytes, code: str) -> bool:
    """Whether a code stands somewhere in a TOML file; of one that cannot be read it counts as it does."""
    try:
        waiting = [value_at(content, ())]
    except FieldError:
        return True
    while waiting:
        value = waiting.pop()
        if value == code:
            return True
        if isinstance(value, Mapping):
            waiting += [*value, *value.values()]
        elif isinstance(value, list):
            waiting += value
    return False


# Another code, of an item or of a set


def show_rename(desk: Desk, request: Request) -> Response:
    """Return the page on which a thing is given another code: every place that names it, once the new code is there."""
    old, new = (" ".join(request.query_params.get(name, "").split()) for name in ("old", "new"))
    is_set, fault = _is_set(desk, old), ""
    plan: Rename | None = None
    if new:
        try:
            plan = plan_rename(desk.shop_state.folder, old, new)
        except FieldError as refused:
            fault = f"{refused.message} {refused.hint}".strip()
    return page(
        desk,
        request,
        "sets" if is_set else "shelf",
        template="rename",
        old=old,
        new=new,
        back=set_address(old) if is_set else item_address(old),
        plan=plan,
        renaming_fault=fault,
        status=422 if fault else 200,
    )


def rename(desk: Desk, request: Request, form: FormData) -> Response:
    """Give a thing another code, in all files at once."""
    old, new = text_of(form, "old"), text_of(form, "new")
    what = say("rename.done", old=old, new=new)
    address = set_address(new) if _is_set(desk, old) else item_address(new)
    outcome = changes.rename(desk.shop_state.folder, old, new, changes.Kind(desk.now(), what, saving.agreed(form)))
    return saving.answer(desk, request, form, outcome, saved=saving.Saved(address, what))


def _is_set(desk: Desk, code: str) -> bool:
    """Whether a code is a set's; else it is an item's."""
    return any(each.code == code and not each.is_single for each in desk.shop_state.look().opened.shop.folders)

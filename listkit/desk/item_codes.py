"""What names an item: codes for rows without one; another code, which goes everywhere; an item that is taken away."""

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import count
from typing import Final

from slugify import slugify
from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import Response

from listkit.actions.rename import Rename, plan_rename
from listkit.compute.movements import goods_of
from listkit.desk import changes, saving
from listkit.desk.changes import Wrong
from listkit.desk.edits import Edit, Role, look, names
from listkit.desk.items import item_address, key_of, line_of
from listkit.desk.page import Desk, in_full, page, say, set_address, text_of
from listkit.desk.shelf import LINE, PAGE, ROW, TARGET, sheet_lines, with_commas, without_code
from listkit.desk.state import Seen
from listkit.desk.tables import Lines, PutCell, TakeRow, lines_of
from listkit.edit.toml import value_at
from listkit.problem import FieldError

_CODE: Final = "code/"
"""What the fields begin with that propose a code; the line of the row follows."""

# Codes for rows that have none


def show_make(
    desk: Desk, request: Request, *, typed: Mapping[int, str] | None = None, wrong: Sequence[str] = ()
) -> Response:
    """Return the rows without a code, with a proposal each, or with what was `typed` and could not be saved."""
    seen, files = desk.shop_state.look(), look(desk.shop_state.folder)
    file = changes.see(files.root, TARGET, files)
    lines = sheet_lines(files, file)
    rows = without_code(lines, file.path)
    proposed = proposed_codes([row.cells for row in rows[:PAGE]], _taken(seen, lines))
    return page(
        desk,
        request,
        "shelf",
        template="make_codes",
        rows=[(row, (typed or {}).get(row.line, code)) for row, code in zip(rows[:PAGE], proposed, strict=True)],
        count=len(rows),
        wrong=wrong,
        file=file,
        target=TARGET,
        status=422 if wrong else 200,
    )


def make(desk: Desk, request: Request, form: FormData) -> Response:
    """Write codes into the rows that have none, all in one change; a row whose field is empty stays as it is."""
    seen, files = desk.shop_state.look(), look(desk.shop_state.folder)
    lines = sheet_lines(files, changes.see(files.root, TARGET, files))
    asked = {name.removeprefix(_CODE): text_of(form, name) for name in form if name.startswith(_CODE)}
    typed = {int(line): code for line, code in asked.items() if line.isdecimal() and len(line) < 8}
    codes = {line: code for line, code in typed.items() if code}
    times = Counter((*_taken(seen, lines), *(code.casefold() for code in codes.values())))
    if twice := [code for code in codes.values() if times[code.casefold()] > 1]:
        return show_make(desk, request, typed=typed, wrong=[say("codes.twice", code=code) for code in twice])
    if not codes:
        return show_make(desk, request)
    done = say("codes.done", count=len(codes))
    saved = saving.Saved(
        "/shelf",
        done,
        what=done,
        wrong=lambda outcome: show_make(desk, request, typed=typed, wrong=[in_full(each) for each in outcome.wrong]),
        by_place=True,
    )
    edits = [Edit(TARGET, PutCell(line, "code", code, by_itself=True)) for line, code in codes.items()]
    return saving.save(desk, request, form, edits=edits, saved=saved)


# Numbers with a comma where the column has points


def write_points(desk: Desk, request: Request, form: FormData) -> Response:
    """Write the numbers that have a comma among points with a point, all in one change."""
    seen, files = desk.shop_state.look(), look(desk.shop_state.folder)
    file = changes.see(files.root, TARGET, files)
    cells = tuple(with_commas(seen.opened.problems, sheet_lines(files, file), file.path))
    done = say("today.pointed", count=len(cells))
    edits = [Edit(TARGET, cell) for cell in cells]
    back = saving.way_back(form) if "here" in form else "/today"
    return saving.save(desk, request, form, edits=edits, saved=saving.Saved(back, done, what=done))


def proposed_codes(rows: Iterable[Mapping[str, str]], taken: Iterable[str]) -> Iterator[str]:
    """Yield a code for each row, unlike each other and what is `taken`: two letters of its form or name, and a number.

    Two letters are no month, which a spreadsheet would make of three.

    >>> rows = [{"form": "bar soap"}, {"form": "bar soap"}, {"name": "Épices"}, {"name": "No. 7"}, {}]
    >>> list(proposed_codes(rows, ["bs-01"]))
    ['BS-02', 'BS-03', 'EP-01', 'NO-01', 'IT-01']
    """
    used = {code.casefold() for code in taken}
    for cells in rows:
        texts = [slugify(cells.get(field, ""), separator=" ") for field in ("form", "name")]
        words = next(
            (found for text in texts if (found := [word for word in text.split() if word.isalpha()])), ["item"]
        )
        letters = (words[0][0] + words[1][0] if len(words) > 1 else words[0][:2]).upper()
        codes = (f"{letters}-{number:02}" for number in count(1))
        code = next(each for each in codes if each.casefold() not in used)
        used.add(code.casefold())
        yield code


def _taken(seen: Seen, lines: Lines) -> Iterator[str]:
    """Yield every code that something has or had, of rows that are not sound too, in small letters."""
    goods, shop = goods_of(seen.catalog), seen.opened.shop
    cells = (row.cells.get(field, "") for row in lines.rows for field in ("code", "old_codes"))
    texts = [*goods.parts, *goods.groups, *goods.near, *shop.old_codes.now, *(each.code for each in shop.folders)]
    texts += [code.strip() for text in cells for code in text.split(";")]
    yield from {text.casefold() for text in texts if text}


# A row taken away


def show_take(desk: Desk, request: Request) -> Response:
    """Ask whether a row is to be taken away; where something still uses its item, say what."""
    return _show_take(desk, request, key_of(request.query_params))


def _show_take(desk: Desk, request: Request, key: str | int, wrong: Sequence[Wrong] = ()) -> Response:
    seen, files = desk.shop_state.look(), look(desk.shop_state.folder)
    file = changes.see(files.root, TARGET, files)
    lines = sheet_lines(files, file)
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
        wrong=[in_full(each) for each in wrong],
        file=file,
        target=TARGET,
        status=422 if wrong else 200,
    )


def take(desk: Desk, request: Request, form: FormData) -> Response:
    """Take a row away that nothing uses; the past keeps it."""
    key, seen, files = key_of(form), desk.shop_state.look(), look(desk.shop_state.folder)
    lines = sheet_lines(files, changes.see(files.root, TARGET, files))
    line = line_of(lines, key)
    code = line.cells.get("code", "") if line is not None else ""
    if line is None or (code and any(users_of(desk, seen, lines, code))):
        return _show_take(desk, request, key)
    what = say("item.taken", name=line.cells.get("name") or code or say("shelf.unnamed", line=line.line))
    saved = saving.Saved(
        "/shelf", what, what=what, wrong=lambda outcome: _show_take(desk, request, key, outcome.wrong), by_place=True
    )
    return saving.save(desk, request, form, edits=[Edit(TARGET, TakeRow(key))], saved=saved)


def users_of(desk: Desk, seen: Seen, lines: Lines, code: str) -> Iterator[tuple[str, str]]:
    """Yield what names an item, sound or not: what to call it, and its address on the desk, "" without one."""
    shop, files = seen.opened.shop, look(desk.shop_state.folder)
    called = {each.folder: (each.name or each.folder, each.code or each.folder) for each in shop.folders}
    for path, target in names(files):
        content = changes.see(files.root, target, files).content
        if target.role is Role.ITEMS or target.role is Role.STORY or not content:
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
            fault = in_full(refused)
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

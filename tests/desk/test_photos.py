"""Photos of a set: what the page says of each cut, the cuts themselves, and every change back to the file."""

import base64
import io
import tomllib
from collections.abc import Iterator
from decimal import Decimal
from html import unescape
from pathlib import Path
from typing import Any
from urllib.parse import quote

import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image, ImageChops, ImageColor, ImageStat
from starlette.testclient import TestClient

from listkit.desk.edits import Edit, Move, Role, Target, edited, look
from listkit.desk.page import Desk, say
from listkit.desk.photo_view import Typed, crops_of, entries_of, views_of
from listkit.desk.photos import edits_of, moves_of
from listkit.desk.pictures import drawn_crops, drawn_cut, made_small
from listkit.desk.saving import shown_name
from listkit.edit.past_lines import digest_of
from listkit.listing.photos import cut_of
from listkit.model.channel import Crop
from listkit.model.photo import UNMEASURED
from listkit.model.shop import Photo
from listkit.picture.encode import CropJob, CropPlan, make_crops
from listkit.pipeline import open_shop
from tests.desk.desks import form, opened, text
from tests.shops import clean_shop, small_demo
from tests.steps import calls

NECTAR = "sets/first-nectar/set.toml"
DAWN = "sets/dawn/set.toml"
SIDES = ("left", "top", "right", "bottom")


@pytest.fixture
def demo(tmp_path: Path) -> Iterator[tuple[Path, TestClient, Desk]]:
    shop = small_demo(tmp_path / "shop")
    with opened(shop) as (client, desk):
        desk.shop_state.look(measured=True)
        yield shop, client, desk


def digest(shop: Path, code: str = "OHS-1", file: str = NECTAR) -> dict[str, str]:
    return {shown_name(Target(Role.SET, code)): digest_of((shop / file).read_bytes())}


def entries(shop: Path, file: str = NECTAR) -> list[dict[str, Any]]:
    photos: list[dict[str, Any]] = tomllib.loads((shop / file).read_text(encoding="utf-8"))["photos"]
    return photos


def sent(desk: Desk, shop: Path, name: str, focus: tuple[str, str, str, str], **more: Any) -> dict[str, Any]:
    """Return the whole form of a picture, as a browser sends it."""
    there = next((each for each in entries(shop) if each["file"] == name), {})
    fields = {"shot": there.get("shot", ""), "alt": there.get("alt", ""), "shows": there.get("shows", [])}
    return {**form(desk, file=name, **digest(shop)), **dict(zip(SIDES, focus, strict=True)), **fields, **more}


def photo(kind: str = "JPEG", colour: str = "#7a5c1e") -> bytes:
    target = io.BytesIO()
    Image.new("RGB", (1200, 900), colour).save(target, kind)
    return target.getvalue()


def test_each_picture_has_its_box_its_words_and_every_cut_of_every_place(demo: tuple[Path, TestClient, Desk]) -> None:
    _, client, desk = demo
    page = client.get("/sets/OHS-1/photos")
    assert page.status_code == 200
    assert 'href="/sets/OHS-1/photos"' in client.get("/sets/OHS-1").text
    seen = desk.shop_state.look()
    channels = seen.opened.shop.channels
    places = {f"{channel.name}: {crop.name}" for channel in channels for crop in channel.crops}
    assert len(places) >= 5
    for place in places:
        assert page.text.count(place) == 6, "under each of the six pictures"
    for name, value in zip(SIDES, ("4", "1.5", "73.7", "93"), strict=True):
        assert f'id="f-1-{name}" name="{name}" type="number"' in page.text
        assert f'value="{value}"' in page.text
    assert "Close-up of Linden" in text(page.text), "the words that are made, where none are stated"


def test_what_is_said_of_a_cut_is_what_the_build_does(demo: tuple[Path, TestClient, Desk]) -> None:
    """A box as high as a wide picture cannot go into a wide crop: what the page says goes by the build's own cut."""
    _, _, desk = demo
    seen = desk.shop_state.look()
    facts = seen.facts("OHS-1")
    assert facts is not None
    wanted = crops_of(seen, desk.shop_state.view(seen, "OHS-1"))
    views = tuple(views_of(facts, wanted, (), problems=(), typed=Typed()))
    states = set()
    for view in views:
        for shown, each in zip(view.crops, wanted, strict=True):
            cut = cut_of(view.photo, each.crop)
            states.add(shown.state)
            assert (shown.state in ("tight", "rough", "out")) == (cut.tight or cut.rough)
            assert (shown.state == "out") == ((cut.tight or cut.rough) and each.crop.if_tight == "leave out")
            if shown.state == "ground":
                assert any(cut.pad)
    assert {"whole", "ground", "rough", "out"} <= states
    assert views[0].verdict == say("photos.doubt", count=2, of=len(wanted))


def test_a_cut_about_a_guess_says_whether_it_cuts_into_what_was_found(demo: tuple[Path, TestClient, Desk]) -> None:
    shop, client, desk = demo
    fields = sent(desk, shop, "open-box.jpg", ("", "", "", ""))
    page = text(client.post("/sets/OHS-1/photos", data=fields).text)
    facts = desk.shop_state.look().facts("OHS-1")
    assert facts is not None
    found = next(each.facts.found for each in facts.source.photos if each.name == "open-box.jpg")
    assert found.right - found.left > Decimal("0.75"), "more than a square or portrait of a picture of 4:3 holds"
    assert found.bottom - found.top > Decimal("0.75"), "more than 16:9 of a picture of 4:3 holds"
    assert say("photos.guess_cut", count=3, of=4) in page
    assert page.count(say("photos.says.guess_cut")) == 3


def test_a_drawn_crop_is_the_built_one_made_small(tmp_path: Path) -> None:
    """Against the files that a build makes, scaled by Pillow's own Lanczos; 4 of 255 is what a small JPEG loses."""
    shop = open_shop(small_demo(tmp_path / "shop"), tmp_path / "out").shop
    gift_set = next(each for each in shop.sets if each.gift_set.code == "OHS-1")
    crops = [crop for channel in shop.channels for crop in channel.crops]
    for each in gift_set.photos[:3]:
        drawn = drawn_crops(shop.root, each, crops)
        jobs = tuple(CropJob("", cut_of(each, crop), background=crop.background) for crop in crops)
        paths = tuple(tmp_path / f"{number}.jpg" for number in range(len(crops)))
        make_crops(shop.root / each.file, CropPlan(jobs), paths)
        for (cut, content), path, crop in zip(drawn, paths, crops, strict=True):
            assert cut == cut_of(each, crop)
            with Image.open(path) as built, Image.open(io.BytesIO(content)) as shown:
                small = built.convert("RGB").resize(shown.size, Image.Resampling.LANCZOS)
                apart = ImageStat.Stat(ImageChops.difference(small, shown.convert("RGB"))).mean
            assert max(apart) < 4, f"{each.name} {crop.name}"


@pytest.mark.parametrize("how", ["small", "middle", "crop", "cut"])
def test_a_picture_that_is_not_measured_yet_is_not_shown_as_the_one_that_was_there_before(
    tmp_path: Path, how: str
) -> None:
    """The colours are those that Pillow wrote, and reads back."""
    photo = Photo("new.png", UNMEASURED, "open box")
    crop = Crop.model_validate({"name": "square", "ratio": "1:1", "width": 1000})

    def shown() -> bytes:
        if how in ("small", "middle"):
            return made_small(tmp_path, photo, how)
        cut, drawn = drawn_crops(tmp_path, photo, [crop])[0]
        return drawn if how == "crop" else drawn_cut(tmp_path, photo, cut)

    for colour in ("#c02020", "#2020c0"):
        with Image.new("RGB", (900, 900), colour) as made:
            made.save(tmp_path / "new.png")
        with Image.open(io.BytesIO(shown())) as picture:
            middle = picture.convert("RGB").resize((1, 1)).getpixel((0, 0))
        assert middle == pytest.approx(ImageColor.getrgb(colour), abs=6)


def test_crops_follow_a_box_that_is_only_being_moved(demo: tuple[Path, TestClient, Desk]) -> None:
    shop, client, _ = demo
    before = (shop / NECTAR).read_bytes()
    address = "/sets/OHS-1/photos/open-box.jpg/crops"
    first, second = (client.get(f"{address}?focus={focus}").json() for focus in ("0.1,0.1,0.3,0.3", "0.7,0.6,0.95,0.9"))
    assert len(first["crops"]) == 4
    pairs = zip(first["crops"], second["crops"], strict=True)
    assert sum(one["jpeg"] != another["jpeg"] for one, another in pairs) >= 2
    assert all(base64.b64decode(crop["jpeg"]).startswith(b"\xff\xd8\xff") for crop in first["crops"])
    assert first["verdict"] == say("photos.whole")
    for focus in ("", "1,2", "0.3,0,0.1,1", "0,0,1,2", "0,0,NaN,1", "a,b,c,d", "0,0,1,1,1", "0,0,1e999999999,1"):
        assert client.get(address, params={"focus": focus}).status_code == 422, focus
    for path in ("/sets/OHS-1/photos/none.jpg/crops?focus=0,0,1,1", "/sets/NO/photos/open-box.jpg/crops?focus=0,0,1,1"):
        assert client.get(path).status_code == 422
    assert (shop / NECTAR).read_bytes() == before
    one = client.get(f"{address}/0")
    assert one.headers["content-type"] == "image/jpeg"
    assert client.get(f"{address}/0", headers={"if-none-match": one.headers["etag"]}).status_code == 304
    assert client.get(f"{address}/99").status_code == 404


def test_a_box_that_was_moved_is_in_the_file_and_nothing_else_is(demo: tuple[Path, TestClient, Desk]) -> None:
    shop, client, desk = demo
    before = (shop / NECTAR).read_text(encoding="utf-8")
    page = client.post("/sets/OHS-1/photos", data=sent(desk, shop, "open-box.jpg", ("10", "15.8", "72.2", "84.25")))
    assert page.status_code == 200
    assert say("photos.saved", name="open-box.jpg") in text(page.text)
    after = (shop / NECTAR).read_text(encoding="utf-8")
    assert after == before.replace("[0.050, 0.158, 0.722, 0.842]", "[0.100, 0.158, 0.722, 0.8425]")
    number = page.text.partition('name="change" value="')[2].partition('"')[0]
    client.post("/past/back", data=form(desk, change=number, here="/sets/OHS-1/photos"))
    assert (shop / NECTAR).read_text(encoding="utf-8") == before


def test_a_form_that_changes_nothing_writes_nothing(demo: tuple[Path, TestClient, Desk]) -> None:
    shop, client, desk = demo
    before = (shop / NECTAR).read_bytes()
    fields = sent(desk, shop, "styled.jpg", ("4", "1.5", "73,7", "93.00"))
    assert client.post("/sets/OHS-1/photos", data=fields).status_code == 200
    assert (shop / NECTAR).read_bytes() == before


def test_shot_words_and_options_are_written_and_taken_out_again(demo: tuple[Path, TestClient, Desk]) -> None:
    shop, client, desk = demo
    box = ("12.8", "11.8", "85.5", "86.5")
    alt = 'Jar, bar & "balm" — für Grüße, <b>'
    fields = sent(desk, shop, "group.jpg", box, shot="contents", alt=alt, shows=["OH-U02", "OH-U01"])
    assert client.post("/sets/OHS-1/photos", data=fields).status_code == 200
    entry = entries(shop)[2]
    assert (entry["shot"], entry["alt"], entry["shows"]) == ("contents", alt, ["OH-U01", "OH-U02"])
    fields = sent(desk, shop, "group.jpg", ("", "", "", ""), shot="", alt="", shows=[])
    assert client.post("/sets/OHS-1/photos", data=fields).status_code == 200
    assert entries(shop)[2] == {"file": "group.jpg"}
    assert say("photos.not_stated") in client.get("/sets/OHS-1/photos").text


@pytest.mark.parametrize(
    ("focus", "message"),
    [
        (("4", "", "70", "93"), "photos.focus_lacks"),
        (("4", "x", "70", "93"), "photos.focus_lacks"),
        (("4", "1", "170", "93"), "photos.focus_outside"),
        (("4", "1", "NaN", "93"), "photos.focus_outside"),
        (("80", "1", "70", "93"), "photos.focus_turned"),
    ],
)
def test_a_box_that_cannot_be_stays_on_the_page_with_the_message_at_it(
    demo: tuple[Path, TestClient, Desk], focus: tuple[str, str, str, str], message: str
) -> None:
    shop, client, desk = demo
    before = (shop / NECTAR).read_bytes()
    page = client.post("/sets/OHS-1/photos", data=sent(desk, shop, "styled.jpg", focus, alt="Half a sen"))
    assert page.status_code == 422
    assert say(message)[1:] in unescape(page.text)
    assert "Half a sen" in page.text
    assert all(f'value="{side}"' in page.text for side in focus)
    assert (shop / NECTAR).read_bytes() == before


def test_a_code_that_is_none_of_the_set_is_told_at_the_options(demo: tuple[Path, TestClient, Desk]) -> None:
    shop, client, desk = demo
    fields = sent(desk, shop, "styled.jpg", ("4", "1.5", "73.7", "93"), shows=["not a code!"])
    page = client.post("/sets/OHS-1/photos", data=fields)
    assert page.status_code == 422
    assert "not a code!" in page.text
    assert "not a code!" not in (shop / NECTAR).read_text(encoding="utf-8")


def test_two_windows_lose_nobodys_words(demo: tuple[Path, TestClient, Desk]) -> None:
    shop, client, desk = demo
    fields = sent(desk, shop, "styled.jpg", ("10", "1.5", "73.7", "93"))
    theirs = (shop / NECTAR).read_text(encoding="utf-8").replace("0.040", "0.030")
    (shop / NECTAR).write_text(theirs, encoding="utf-8")
    page = client.post("/sets/OHS-1/photos", data=fields)
    assert page.status_code == 409
    assert (shop / NECTAR).read_text(encoding="utf-8") == theirs
    again = {**fields, **digest(shop)}
    assert client.post("/sets/OHS-1/photos", data=again).status_code == 200
    assert entries(shop)[0]["focus"] == [0.1, 0.015, 0.737, 0.93]


@pytest.mark.parametrize(("left", "stated"), [("1e-999990", 0), ("1e-400", 0), ("12.3456", 0.123456)])
def test_a_side_is_written_as_finely_as_pictures_are(
    demo: tuple[Path, TestClient, Desk], left: str, stated: float
) -> None:
    shop, client, desk = demo
    size = (shop / NECTAR).stat().st_size
    fields = sent(desk, shop, "styled.jpg", (left, "1.5", "73.7", "93"))
    assert client.post("/sets/OHS-1/photos", data=fields).status_code == 200
    assert entries(shop)[0]["focus"] == [stated, 0.015, 0.737, 0.93]
    assert (shop / NECTAR).stat().st_size < size + 100


# Order


def test_a_picture_moves_with_what_is_said_of_it(demo: tuple[Path, TestClient, Desk]) -> None:
    shop, client, desk = demo
    before = entries(shop)
    fields = form(desk, file="styled.jpg", to="2", **digest(shop))
    assert client.post("/sets/OHS-1/photos/order", data=fields).status_code == 200
    assert entries(shop) == [before[1], before[2], before[0], *before[3:]]
    facts = desk.shop_state.look().facts("OHS-1")
    assert facts is not None
    assert [each.name for each in facts.source.photos][:3] == ["open-box.jpg", "group.jpg", "styled.jpg"]
    for to in ("9", "-1", "x", ""):
        assert client.post("/sets/OHS-1/photos/order", data={**fields, "to": to}).status_code == 404


def shown_order(shop: Path, code: str) -> list[str]:
    opened_shop = open_shop(shop, shop / "out").shop
    return next([each.name for each in one.photos] for one in opened_shop.sets if one.gift_set.code == code)


@given(
    listed=st.permutations("abcdef").flatmap(lambda each: st.integers(0, 6).map(lambda many: each[:many])),
    missing=st.integers(0, 2), name=st.sampled_from("abcdef"), to=st.integers(0, 5),
)  # fmt: skip
def test_whatever_has_an_entry_a_picture_comes_where_it_was_put(
    listed: list[str], missing: int, name: str, to: int
) -> None:
    """The order of reading, after its documentation: those with an entry in its order, then the others by name."""
    files = [*listed[:missing], *["gone"] * bool(missing), *listed[missing:]]
    content = "".join(f'[[photos]]\nfile = "{file}.jpg"\nalt = "{file}"\n\n' for file in files).encode()
    target, names = Target(Role.SET, "X"), [f"{each}.jpg" for each in [*listed, *sorted(set("abcdef") - set(listed))]]
    wanted = [each for each in names if each != f"{name}.jpg"]
    wanted.insert(to, f"{name}.jpg")
    nowhere = look(Path("/nonexistent"))
    edits = moves_of(target, entries_of(content), names, name=f"{name}.jpg", to=to)
    for edit in edits:
        content, _ = edited(nowhere, edit, "set.toml", content)
    after = entries_of(content)
    there = [each["file"] for each in after if each["file"] != "gone.jpg"]
    assert [*there, *sorted(set(names) - set(there))] == wanted
    assert all(each.get("alt", each["file"][0]) == each["file"].partition(".")[0] for each in after)
    assert sum(isinstance(edit.action, Move) for edit in edits) <= 2


def test_what_is_first_said_of_a_picture_leaves_the_order(tmp_path: Path) -> None:
    target = Target(Role.SET, "X")
    edits = edits_of(target, [{"file": "z.jpg"}], ["z.jpg", "a.jpg", "b.jpg"], name="b.jpg", values={"shot": "detail"})
    content = b'[[photos]]\nfile = "z.jpg"\n'
    for edit in edits:
        content, _ = edited(look(tmp_path), edit, "set.toml", content)
    assert tomllib.loads(content.decode())["photos"] == [
        {"file": "z.jpg"}, {"file": "a.jpg"}, {"file": "b.jpg", "shot": "detail"}
    ]  # fmt: skip
    assert edits_of(target, [], ["a.jpg"], name="a.jpg", values={"shot": None}) == list[Edit]()


# Pictures that come and go


def test_pictures_are_dropped_in_several_at_once_and_what_is_none_is_named(tmp_path: Path) -> None:
    pillow_heif = pytest.importorskip("pillow_heif", reason="HEIC needs the extra pillow-heif")
    heic = io.BytesIO()
    pillow_heif.from_pillow(Image.new("RGB", (400, 300), "#446644")).save(heic)
    shop = clean_shop(tmp_path / "shop")
    with opened(shop) as (client, desk):
        files = [
            ("pictures", ("From Above.JPG", photo(), "image/jpeg")),
            ("pictures", ("IMG_1.heic", heic.getvalue(), "image/heic")),
            ("pictures", ("notes.txt", b"no picture at all", "text/plain")),
        ]
        page = client.post("/sets/RRS-1/photos/add", data=form(desk), files=files)
        assert page.status_code == 200
        assert say("photos.added", count=2, name="RRS-1") in text(page.text)
        assert "notes.txt was left out" in text(page.text)
        photos = shop / "sets/dawn/photos"
        assert (photos / "from-above.jpg").read_bytes() == photo()
        assert (photos / "img-1.heic").read_bytes() == heic.getvalue()
        assert client.get("/sets/RRS-1/photos/img-1.heic?size=middle").headers["content-type"] == "image/jpeg"
        assert client.post("/sets/RRS-1/photos/add", data=form(desk), files=files[2:]).status_code == 422
        assert client.post("/sets/RRS-1/photos/add", data=form(desk)).status_code == 422


def test_a_picture_is_taken_away_and_taken_back(tmp_path: Path) -> None:
    shop = clean_shop(tmp_path / "shop")
    before = (shop / DAWN).read_bytes()
    with opened(shop) as (client, desk):
        fields = form(desk, file="open-box.png", **digest(shop, "RRS-1", DAWN))
        page = client.post("/sets/RRS-1/photos/take", data=fields)
        assert page.status_code == 200
        assert not (shop / "sets/dawn/photos/open-box.png").exists()
        number = page.text.partition('name="change" value="')[2].partition('"')[0]
        client.post("/past/back", data=form(desk, change=number, here="/sets/RRS-1/photos"))
        assert (shop / "sets/dawn/photos/open-box.png").exists()
        assert (shop / DAWN).read_bytes() == before


def test_a_picture_that_cannot_be_opened_is_shown_with_why_and_can_be_taken_away(tmp_path: Path) -> None:
    shop = clean_shop(tmp_path / "shop", {"sets/dawn/photos/broken.jpg": b"\xff\xd8\xff and no more"})
    with opened(shop) as (client, desk):
        said = text(client.get("/sets/RRS-1/photos").text)
        assert "broken.jpg " + say("photos.lost") in said
        assert "damaged" in said
        fields = form(desk, file="broken.jpg", **digest(shop, "RRS-1", DAWN))
        assert client.post("/sets/RRS-1/photos/take", data=fields).status_code == 200
        assert not (shop / "sets/dawn/photos/broken.jpg").exists()


HOSTILE = ['"><script>window.hit=1<script>.jpg', "a&b#c?d.jpg", "50%25.jpg", "Übergröße 'x'.jpg", "add", "..."]


def test_hostile_names_of_pictures_are_text_and_can_be_worked_with(tmp_path: Path) -> None:
    """Names that a file system takes; none of them may become markup, another address or another path."""
    names = [name for name in HOSTILE if name.endswith(".jpg")]
    changes: dict[str, str | bytes | None] = {
        f"sets/dawn/photos/{name}": photo(colour=f"#44{number}455") for number, name in enumerate(HOSTILE)
    }
    shop = clean_shop(tmp_path / "shop", changes)
    with opened(shop) as (client, desk):
        desk.shop_state.look(measured=True)
        page = client.get("/sets/RRS-1/photos").text
        assert "<script>window" not in page
        for name in names:
            assert name in unescape(page)
            if "%" in name:  # the test client decodes addresses twice; the real browser's test has it
                continue
            address = f"/sets/RRS-1/photos/{quote(name, safe='')}"
            assert client.get(address).status_code == 200, name
            assert client.get(f"{address}/crops?focus=0.1,0.1,0.5,0.5").status_code == 200, name
            fields = form(desk, file=name, left="10", top="10", right="60", bottom="70", **digest(shop, "RRS-1", DAWN))
            assert client.post("/sets/RRS-1/photos", data=fields).status_code == 200, name
            assert {"file": name, "focus": [0.1, 0.1, 0.6, 0.7]} in entries(shop, DAWN)
    for name in ("../set.toml", "../../shop.toml", "", "no.jpg"):
        with opened(shop) as (client, desk):
            fields = form(desk, file=name, left="", top="", right="", bottom="", **digest(shop, "RRS-1", DAWN))
            before = (shop / DAWN).read_bytes()
            assert client.post("/sets/RRS-1/photos", data=fields).status_code == 404
            assert client.post("/sets/RRS-1/photos/order", data={**fields, "to": "0"}).status_code == 404
            assert client.post("/sets/RRS-1/photos/take", data=fields).status_code == 409
            assert (shop / DAWN).read_bytes() == before


def test_pages_of_sets_that_are_none_or_cannot_be_computed(tmp_path: Path) -> None:
    shop = clean_shop(tmp_path / "shop")
    broken = shop / "sets/broken/set.toml"
    broken.parent.mkdir()
    broken.write_text("name = [", encoding="utf-8")
    with opened(shop) as (client, desk):
        assert client.get("/sets/NO-1/photos").status_code == 404
        assert client.get("/sets/broken/photos").status_code == 200
        assert say("photos.unread") in client.get("/sets/broken/photos").text
        for path in ("", "/order"):
            assert client.post(f"/sets/NO-1/photos{path}", data=form(desk, file="x", to="0")).status_code == 404


def test_a_picture_is_moved_in_step_with_the_entries_of_pictures_that_are_not_there() -> None:
    names = [f"x{number:02}.jpg" for number in range(12)]

    def steps(size: int) -> int:
        entries = [{"file": f"y{number}.jpg"} for number in range(size)]
        return calls(lambda: moves_of(Target(Role.SET, "A"), entries, names, name=names[0], to=len(names) - 1))

    assert steps(2_000) < 6 * steps(500)
    assert steps(2_000) < 200_000  # was 580,000: for each picture all entries were gone through for each picture

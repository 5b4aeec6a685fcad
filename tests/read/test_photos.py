"""Photos in order, with what they show; what is no picture and what is not there is told."""

from pathlib import Path

import pytest

from listkit.model.gift_set import PhotoNote
from listkit.read.folder import find_files
from listkit.read.photos import SHOTS, PhotoMemory, read_photos, read_season_photos, shot_of
from tests.shops import CLEAN, clean_shop, lines

PICTURE = (CLEAN / "sets/dawn/photos/detail.png").read_bytes()


@pytest.mark.parametrize(
    ("name", "shot"),
    [
        ("open-box.jpg", "open box"),
        ("First_Nectar_OPEN_BOX_2.JPG", "open box"),
        ("styled2.png", "styled"),
        ("from-above contents.webp", "from above"),
        ("in_hand.tif", "in hand"),
        ("label.closed.avif", "closed"),
        ("scarded.png", "other"),
        ("card", "card"),
        ("openbox.jpg", "other"),
        ("20270301_1.jpg", "other"),
    ],
)
def test_a_shot_is_the_longest_that_the_file_name_tells(name: str, shot: str) -> None:
    assert shot_of(name) == shot


def test_every_shot_is_found_by_its_own_name() -> None:
    assert [shot_of(f"x-{shot.replace(' ', '-')}.jpg") for shot in SHOTS] == list(SHOTS)


def read(root: Path, *notes: PhotoNote) -> tuple[list[tuple[str, str]], list[str]]:
    photos, problems, faults = read_photos(root, find_files(root)[0].sets[0], notes, PhotoMemory())
    told = [f"{fault.loc} {fault.message} {fault.hint}  {fault.code}" for fault in faults]
    return [(photo.name, photo.shot) for photo in photos], lines(problems) + told


def test_entries_come_first_in_their_order_then_the_others_by_name(tmp_path: Path) -> None:
    names = ("b.png", "a.png", "styled.PNG")
    root = clean_shop(tmp_path, {f"sets/dawn/photos/{name}": PICTURE for name in names})
    photos, told = read(root, PhotoNote(file="styled.PNG"), PhotoNote(file="b.png", shot="label"))
    assert told == []
    assert photos == [
        ("styled.PNG", "styled"), ("b.png", "label"), ("a.png", "other"), ("detail.png", "detail"),
        ("open-box.png", "open box"),
    ]  # fmt: skip


def test_what_the_owner_says_of_a_photo_goes_with_it(tmp_path: Path) -> None:
    root = clean_shop(tmp_path)
    note = PhotoNote(file="detail.png", alt="A jar", shows=("RR-J1",))
    (photo, _), _, _ = read_photos(root, find_files(root)[0].sets[0], (note,), PhotoMemory())
    assert (photo.alt, photo.shows, photo.focus) == ("A jar", ("RR-J1",), None)
    assert (photo.facts.width, photo.facts.height) == (160, 120)


def test_entries_that_name_no_photo_or_one_twice_are_told(tmp_path: Path) -> None:
    notes = [
        PhotoNote(file=name) for name in ("detial.png", "detail.png", "detail.png", "../detail.png", "x/detail.png")
    ]
    photos, told = read(clean_shop(tmp_path), *notes, PhotoNote(file="open-box.png", shot="opne box"))
    assert [name for name, _ in photos] == ["detail.png", "open-box.png"]
    assert told == [
        "('photos', 0, 'file') there is no photo \"detial.png\". Write \"detail.png\".  file-missing",
        "('photos', 2, 'file') \"detail.png\" has two entries. Keep one of the two.  code-twice",
        "('photos', 3, 'file') \"../detail.png\" does not stay in its folder. "
        'Name a file in the set\'s photos folder, as in "styled.jpg".  path-outside',
        "('photos', 4, 'file') \"x/detail.png\" does not stay in its folder. "
        'Name a file in the set\'s photos folder, as in "styled.jpg".  path-outside',
        "('photos', 5, 'shot') there is no shot \"opne box\". Write \"open box\".  bad-value",
    ]


def test_files_that_are_no_pictures_are_told_and_left_out(tmp_path: Path) -> None:
    root = clean_shop(tmp_path, {"sets/dawn/photos/notes.txt": "x", "sets/dawn/photos/empty.jpg": ""})
    photos, told = read(root)
    assert len(photos) == 2
    assert [line.partition(":")[0] for line in told] == [
        "Must fix · sets/dawn/photos/empty.jpg", "Must fix · sets/dawn/photos/notes.txt",
    ]  # fmt: skip
    assert all(line.endswith("  not-a-picture") for line in told)


def test_a_season_has_one_photo_found_by_its_name(tmp_path: Path) -> None:
    names = ("photos/early-summer.png", "photos/Early summer.PNG", "photos/sprign.png", "photos/x.txt")
    root = clean_shop(tmp_path, dict.fromkeys(names, PICTURE))
    seasons = frozenset({"early summer", "spring"})
    files = find_files(root)[0].season_photos
    photos, problems = read_season_photos(root, files, seasons, PhotoMemory())
    assert [(season, photo.file) for season, photo in photos] == [("early summer", "photos/Early summer.PNG")]
    assert lines(problems) == [
        "Must fix · photos/early-summer.png: Early summer.PNG is already the picture of early summer. "
        "Keep one of the two.  code-twice",
        'Must fix · photos/sprign.png: there is no season "sprign". Write "spring".  unknown-code',
        "Must fix · photos/x.txt: it has not the ending of a picture. Take it out, or export it as one of "
        ".jpg, .jpeg, .png, .webp, .tif, .tiff, .avif or .heic.  not-a-picture",
    ]
    unknown, problems = read_season_photos(root, files[:1], None, PhotoMemory())
    assert (unknown, problems) == ((), [])

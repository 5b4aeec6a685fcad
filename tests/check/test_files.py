"""Names that files would get. The outside reference is what `save` itself refuses, and for devices Microsoft's list.

Microsoft's list is "Naming Files, Paths, and Namespaces", from memory.
"""

from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from listkit.actions.outputs import build_jobs
from listkit.model.shop import FolderRead, Shop
from listkit.pipeline import check_shop
from listkit.save.out_folder import check_paths
from tests.check.found import TODAY, told
from tests.real_builds import CHANNEL
from tests.shops import clean_shop
from tests.small_shop import channel, gift_set, item, shop


def with_folders(*folders: str) -> Shop:
    """A shop with a set in each of these folders and a channel that makes a page of each."""
    sets = [gift_set([{"item": "A-1"}], code=f"SET-{number}") for number in range(len(folders))]
    of = shop([item("A-1")], sets, channels=(channel(key="web", make=["listings"]),))
    named = (replace(each, folder=folder) for each, folder in zip(of.sets, folders, strict=True))
    return replace(of, sets=tuple(named))


@pytest.mark.parametrize(
    ("folder", "fault", "instead"),
    [
        ("What is it?", "holds a sign that some systems do not allow", "what-is-it"),
        ("a:b", "holds a sign that some systems do not allow", "a-b"),
        ("CON", "has a name that Windows keeps for a device", "con-2"),
        ("nul.d", "has a name that Windows keeps for a device", "nul-d"),
        ("?", "holds a sign that some systems do not allow", "set"),
        ("x" * 251, "has a name that is longer than some systems allow", "x" * 60),
        ("x" * 59 + " " + "x" * 195, "has a name that is longer than some systems allow", "x" * 59),
    ],
)
def test_a_folder_that_some_system_cannot_have_is_named_with_what_to_call_it(
    folder: str, fault: str, instead: str
) -> None:
    (line,) = told("folder-name", with_folders(folder))
    page = f"web/listings/{folder}.html"
    assert line == f'Must fix · sets/{folder}: its page "{page}" {fault}. Call the folder "{instead}".'


@pytest.mark.parametrize(("first", "second"), [("dawn", "Dawn"), ("caf\u00e9", "cafe\u0301"), ("straße", "STRASSE")])
def test_of_two_folders_that_are_one_on_some_system_the_second_is_told(first: str, second: str) -> None:
    (line,) = told("folder-name", with_folders(first, second))
    assert f'"web/listings/{second}.html" and "web/listings/{first}.html" are the same file.' in line
    name = line.rpartition('Call the folder "')[2].removesuffix('".')
    assert told("folder-name", with_folders(first, name)) == []


def test_no_folder_is_to_be_called_as_another_is_that_has_a_fault() -> None:
    of = with_folders("What is it?")
    (line,) = told(
        "folder-name", replace(of, folders=(FolderRead("What is it?"), FolderRead("what-is-it", parsed=False)))
    )
    assert line.endswith('Call the folder "what-is-it-2".')


def test_where_no_page_is_made_a_folder_names_no_file() -> None:
    of = with_folders("What is it?")
    assert told("folder-name", replace(of, channels=(channel(key="web", make=["feed"]),))) == []


@given(st.lists(st.text(max_size=6).filter(lambda name: name and "/" not in name), min_size=1, max_size=4, unique=True))
def test_what_is_told_is_what_save_refuses(folders: list[str]) -> None:
    try:
        check_paths(f"web/listings/{folder}.html" for folder in folders)
    except ValueError:
        assert told("folder-name", with_folders(*folders))
    else:
        assert told("folder-name", with_folders(*folders)) == []


NASTY = ["a&b", "ete", "CON-", "été", "  x", "con.", "set", "-", "日本", "a" * 100]


@pytest.fixture(params=NASTY)
def renamed(request: pytest.FixtureRequest, tmp_path: Path) -> Path:
    folder = clean_shop(tmp_path / "shop", {"channels/web.toml": CHANNEL})
    (folder / "sets/dawn").rename(folder / "sets" / request.param)
    return folder


def test_every_other_output_has_a_name_that_save_takes_whatever_the_folder_is_called(renamed: Path) -> None:
    """So that the pages alone need to be asked about: real jobs of every writer, checked as save does."""
    checked = check_shop(renamed, TODAY)
    paths = [file.path for job in build_jobs(checked.listings, checked.sheets) for file in job.files]
    refused = any(problem.code == "folder-name" for problem in checked.problems)  # and the set is left out
    assert refused or any("/listings/" in path for path in paths)
    check_paths(paths)

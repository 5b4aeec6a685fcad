"""Stories are read as they stand, one a language."""

from pathlib import Path

from listkit.read.folder import find_files
from listkit.read.parts import read_stories
from tests.shops import clean_shop, lines


def test_each_language_has_its_story_the_shops_own_first(tmp_path: Path) -> None:
    text = "Une barre à {{ cheapest | in_currency }}.\r\n"
    root = clean_shop(tmp_path, {"sets/dawn/story.fr.md": text, "sets/dawn/story.cy-GB.md": "Bore"})
    stories, problems = read_stories(root, find_files(root)[0].sets[0])
    assert problems == []
    assert [(story.language, story.file) for story in stories] == [
        ("", "sets/dawn/story.md"), ("cy-GB", "sets/dawn/story.cy-GB.md"), ("fr", "sets/dawn/story.fr.md"),
    ]  # fmt: skip
    assert stories[2].text == text


def test_a_language_that_is_none_and_a_text_that_is_none_are_told(tmp_path: Path) -> None:
    root = clean_shop(tmp_path, {"sets/dawn/story.french.md": "Une barre", "sets/dawn/story.md": b"one\n\xff\n"})
    stories, problems = read_stories(root, find_files(root)[0].sets[0])
    assert stories == ()
    assert lines(problems) == [
        'Must fix · sets/dawn/story.french.md: "french" is not a language. '
        'Name it as in "story.fr.md" or "story.en-GB.md".  bad-value',
        'Must fix · sets/dawn/story.md, line 2: a letter is not in UTF-8, near "ÿ". '
        "Save the file again as UTF-8.  encoding",
    ]

"""`listkit learn`: a channel drafted from a storefront's sample; what is sure is filled in, doubts are marked."""

import argparse
import json
import sys
from pathlib import Path
from typing import Any, Final

from slugify import slugify

from listkit.cli.options import add_shop
from listkit.cli.sample import Sample, read_sample
from listkit.cli.table import table
from listkit.edit.files import ChannelWords, channel_toml, put_channel, quoted
from listkit.learn.dialect import ValueForm, values_of
from listkit.learn.draft import Draft, draft, headings_twice
from listkit.learn.feed_header import FeedMatch, match_feed
from listkit.problem import FieldError
from listkit.read.folder import SHOP
from listkit.shipped import shipped_templates

_TAKEN: Final = ("wholesale", "print")  # folders of output that belong to no channel


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Say what the command takes."""
    parser.add_argument("sample", type=Path, metavar="SAMPLE", help="a storefront's own sample file (CSV, .xlsx, .ods)")
    parser.add_argument("--name", required=True, metavar="NAME", help="what people call the place")
    add_shop(parser)


def run(args: argparse.Namespace) -> int:
    """Write channels/<name>.toml and say what was understood; 1 when it cannot be made."""
    try:
        key = _key(args.shop, args.name)
        sample = read_sample(args.sample)
        matches = match_feed(sample.headings, sample.rows)
        values = _values(sample, matches)
        drafted = draft(matches, sample.rows)
        template = (shipped_templates() / "learnt" / "channel.toml").read_text(encoding="utf-8")
        words = _words(args.name, sample, values, drafted)
        path = put_channel(args.shop, key, channel_toml(template, words))
    except FieldError as fault:
        print(f"{fault.message} {fault.hint}".rstrip(), file=sys.stderr)
        return 1
    if args.json:
        print(json.dumps(_json(path, sample, values, matches), indent=2, ensure_ascii=False))
    else:
        _tell(path, matches, headings_twice(drafted.columns), args.shop)
    return 0


def _key(shop: Path, name: str) -> str:
    """Return the key of a channel of that name, once it is sure that the shop is one."""
    if not (shop / SHOP).is_file():
        raise FieldError(f"there is no {SHOP} in {shop}.", "Say where the shop is: --shop DIR.")
    key = slugify(name, separator="_")[:60].strip("_")
    if not key or key in _TAKEN:
        raise FieldError(f'"{name}" cannot be the name of a channel.', 'Write a word or two, as in "Web shop".')
    return key


def _values(sample: Sample, matches: tuple[FeedMatch, ...]) -> ValueForm:
    columns = [tuple(row[at] if at < len(row) else "" for row in sample.rows) for at in range(len(matches))]
    answers = [column for column, match in zip(columns, matches, strict=True) if match.field == "inStock"]
    return values_of(columns, answers)


def _words(name: str, sample: Sample, values: ValueForm, drafted: Draft) -> ChannelWords:
    return ChannelWords(
        sample=sample.file,
        name=name,
        feed="csv" if sample.form else "xlsx",
        rows=drafted.rows,
        text=drafted.text,
        pictures=drafted.pictures,
        dialect=tuple((key, _toml(value)) for key, value in _dialect(sample, values).items() if key != "feed"),
        day_doubtful=not values.day_sure,
        columns=drafted.columns,
    )


def _toml(value: str | bool) -> str:
    return quoted(value) if isinstance(value, str) else str(value).lower()


def _dialect(sample: Sample, values: ValueForm) -> dict[str, str | bool]:
    """Return what was found out of how the sample is written, in the keys of [dialect]."""
    form = sample.form
    written: dict[str, str | bool] = {"feed": "xlsx"}
    if form:
        written = {"feed": "csv", "separator": form.separator, "quote": form.quote, "encoding": form.encoding}
        written |= {"byte_order_mark": form.byte_order_mark, "line_end": form.line_end, "decimal": values.decimal}
    answers = {"yes": values.yes, "no": values.no} if (values.yes, values.no) != ("yes", "no") else {}
    return {**written, "date": values.date, "header": True, **answers}


def _json(path: Path, sample: Sample, values: ValueForm, matches: tuple[FeedMatch, ...]) -> dict[str, Any]:
    return {
        "file": str(path),
        "dialect": _dialect(sample, values),
        "columns": [
            {
                "heading": match.heading.text,
                "field": match.field,
                "confidence": match.confidence,
                "second": match.second,
            }
            for match in matches
        ],
    }


def _tell(path: Path, matches: tuple[FeedMatch, ...], twice: tuple[str, ...], shop: Path) -> None:
    sure = [match for match in matches if match.sure]
    asked = [match for match in matches if not match.sure]
    print(f"{path}: {len(matches)} columns, {len(sure)} filled in, {len(asked)} for you to decide.")
    if sure:
        print(table([(f"  {match.heading.text}", match.field or "") for match in sure], left=2))
    if asked:
        print('To be decided (the lines with "?"):')
        print(table([(f"  {match.heading.text}", _doubt(match)) for match in asked], left=2))
    for heading in twice:
        print(f'Several columns are headed "{heading}", and a feed has each heading once: keep one, or name them anew.')
    print(f"Next: look it through, then: listkit check --shop {shop}")


def _doubt(match: FeedMatch) -> str:
    return f"{match.field}? {match.reason or 'it is not sure'}" if match.field else match.reason

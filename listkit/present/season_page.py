"""A season looked back on as a page of its own: one file, no script, nothing fetched; to look at and to print."""

from collections.abc import Mapping
from typing import Final
from xml.etree import ElementTree

from listkit.actions.season import SeasonEnd
from listkit.present.season import Chart, Heading, Rows, season_blocks

_STYLE: Final = """
:root { color-scheme: light dark; --ink: #222; --paper: #fff; --hair: #ccc; }
@media (prefers-color-scheme: dark) { :root { --ink: #eee; --paper: #1b1b1b; --hair: #555; } }
body { margin: 0 auto; padding: 1rem; max-width: 62rem; font: 1rem/1.45 system-ui, sans-serif; color: var(--ink);
  background: var(--paper); overflow-wrap: anywhere; }
h1 { font-size: 1.4rem; } h2 { font-size: 1.1rem; margin-top: 2rem; }
div { overflow-x: auto; } table { border-collapse: collapse; overflow-wrap: normal; }
th, td { padding: .25rem .6rem; border-bottom: 1px solid var(--hair); text-align: right; vertical-align: top; }
table:has(th) td:first-child, td:not(.words) { white-space: nowrap; }
.words { text-align: left; } .bars, .bars ul { list-style: none; margin: 0; padding: 0; }
.bars > li { display: flex; align-items: start; gap: 1rem; padding: .6rem 0; break-inside: avoid; }
.bars > li > div { flex: 1; min-width: 0; } .bars p { margin: 0; }
.bars img, .bars .none { flex: none; width: 6rem; height: 4.5rem; object-fit: cover; border: 1px solid var(--hair); }
.bars .none { font-size: .8rem; display: flex; align-items: center; justify-content: center; text-align: center; }
.bars svg { display: block; width: 100%; height: 1rem; margin: .3rem 0; print-color-adjust: exact; }
.bars ul { display: flex; flex-wrap: wrap; gap: 0 1.2rem; font-size: .9em; }
.bars ul svg { display: inline-block; width: .8rem; height: .8rem; margin: 0 .35rem 0 0; }
.p0 { fill: #3b7fb0; } .p1 { fill: #b3672b; } .p2 { fill: #4f8a4c; } .p3 { fill: #9a5ba5; } .p4 { fill: #7b7d80; }
.p5 { fill: #a07a1e; }
@media print {
  @page { size: A4; margin: 14mm; }
  :root { color-scheme: light; --ink: #000; --paper: #fff; --hair: #999; }
  body { padding: 0; font-size: 9.5pt; max-width: none; } div { overflow: visible; }
  h1, h2 { break-after: avoid; } tr { break-inside: avoid; } th, td { padding: .15rem .4rem; }
}
"""


def season_page(end: SeasonEnd, pictures: Mapping[str, str]) -> bytes:
    """Return the page as HTML; `pictures` are addresses by the sets' codes. Each set has a bar, said in words too."""
    root = ElementTree.Element("html", {"lang": "en"})
    head = ElementTree.SubElement(root, "head")
    ElementTree.SubElement(head, "meta", {"charset": "utf-8"})
    ElementTree.SubElement(head, "meta", {"name": "viewport", "content": "width=device-width, initial-scale=1"})
    ElementTree.SubElement(head, "title").text = f"{end.season.name}, {end.shop.settings.name}"
    ElementTree.SubElement(head, "style").text = _STYLE
    main = ElementTree.SubElement(ElementTree.SubElement(root, "body"), "main")
    for at, block in enumerate(season_blocks(end)):
        if isinstance(block, Rows):
            _html_table(main, block)
        elif isinstance(block, Chart):
            _html_chart(main, block, pictures)
        else:
            text = block.text if isinstance(block, Heading) else block
            ElementTree.SubElement(main, "p" if isinstance(block, str) else "h2" if at else "h1").text = text
    text = ElementTree.tostring(root, encoding="unicode", method="html")
    return f"<!DOCTYPE html>\n{text}\n".encode()


def _html_chart(main: ElementTree.Element, chart: Chart, pictures: Mapping[str, str]) -> None:
    rows = ElementTree.SubElement(main, "ol", {"class": "bars"})
    for bar in chart.bars:
        row = ElementTree.SubElement(rows, "li")
        if bar.code in pictures:
            ElementTree.SubElement(row, "img", {"src": pictures[bar.code], "alt": bar.alt})
        else:
            ElementTree.SubElement(row, "span", {"class": "none"}).text = "no picture"
        beside = ElementTree.SubElement(row, "div")
        ElementTree.SubElement(beside, "p").text = f"{bar.code} {bar.name}: {bar.words}"
        look = {"class": "bar", "viewBox": "0 0 100 10", "preserveAspectRatio": "none", "aria-hidden": "true"}
        drawn = ElementTree.SubElement(beside, "svg", look)
        places = ElementTree.SubElement(beside, "ul")
        for part in bar.parts:
            fill = {"class": f"p{part.colour}", "height": "10"}
            ElementTree.SubElement(drawn, "rect", {"x": part.begin, "width": part.length, **fill})
            place = ElementTree.SubElement(places, "li")
            swatch = ElementTree.SubElement(place, "svg", {"viewBox": "0 0 10 10", "aria-hidden": "true"})
            ElementTree.SubElement(swatch, "rect", {"width": "10", **fill})
            swatch.tail = part.words


def _html_table(main: ElementTree.Element, block: Rows) -> None:
    scrolls = ElementTree.SubElement(main, "div", {"tabindex": "0", "role": "region", "aria-label": "table"})
    body = ElementTree.SubElement(scrolls, "table")
    for at, row in enumerate(block.rows):
        line = ElementTree.SubElement(body, "tr")
        for column, text in enumerate(row):
            cell = "th" if block.headed and not at else "td"
            look = {"scope": "col"} if cell == "th" else {}
            look |= {"class": "words"} if column < block.left else {}
            ElementTree.SubElement(line, cell, look).text = text

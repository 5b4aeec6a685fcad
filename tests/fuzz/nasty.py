"""Words that break programs: numbers beyond measure, signs nobody sees, paths that lead out, code instead of text."""

# ruff: noqa: E501 - lists of words

from typing import Final

NUMBERS: Final = (
    "0", "-0", "-1", "1", "1e999999999", "1e-999999999", "9" * 5000, "0." + "0" * 400 + "1", "NaN", "inf", "-inf",
    "0x1F", "1_000", "1,5", "1.234.567,89", "٣", "１２", "½", "²", "1 000", "1e5", "+7", "007", "1/0", "99999999999999999999",
    "4.005", "0.1", "true", "false", "null", "[]", "{}", "''", '""', '"""', "=", "[[x]]", "1979-05-27", "1979-05-27T07:32:00Z",
    "0000-00-00", "9999-12-31", "0001-01-01", "2027-02-29", "07:32:00",
)  # fmt: skip
AMOUNTS: Final = (
    "1 g", "0 g", "-5 g", "1e30 kg", "1e-30 g", "999999999999 t", "12 x 8 x 5 cm", "0 x 0 x 0 mm", "1e20 x 1 x 1 mm",
    "1 x 1 x 1 mm", "9999 x 9999 x 9999 m", "3 stone", "100 %", "101 %", "-1 %", "0 %", "99.9999999 %", "£1", "$0.001",
    "24 months", "-1 months", "1e9 years", "5 ml", "5 fl oz", "1:0", "0:1", "99999:1", "0.0.0", "none", "smallest", "all",
)  # fmt: skip
LETTERS: Final = (
    "\x00", "\ufeff", "\u202e", "\u2066", "\u200b", "\u200d", "\u2028", "\x85", "\x0b", "\x1b[31m", "\x7f", "\ufffe",
    "\U0010ffff", "İ", "ß", "ﬁ", "e\u0301" * 3, "a" + "\u0301" * 500, "👩‍👩‍👧‍👦", "\r", "\n", "\r\n", "\t", "\\", "'", '"', "`", "﷽",
    "a" * 70_000, " " * 3000, "א", "ا", "日本語", "\ue000",
)  # fmt: skip
PATHS: Final = (
    "../outside/canary.png", "../../outside/secret.toml", "/etc/passwd", "C:\\Windows\\win.ini", "\\\\host\\share\\x.png",
    "con.png", "NUL", "aux.toml", "com1.jpg", "a/b", "./x", "..", ".", "", "x.", "x ", "~/x", "file:///etc/passwd",
    "photos/../../x", "open-box.png\x00.jpg", "x" * 300 + ".jpg", "sets", "shop.toml", "out", "*", "?", "a:b", ".hidden",
)  # fmt: skip
CODE: Final = (
    "=cmd|' /C calc'!A0", "+1+1", "@SUM(A1)", "-2+3", "<script>alert(1)</script>", "<img src=x onerror=alert(1)>",
    "]]>", "<!DOCTYPE x [<!ENTITY a 'b'>]>", "&#0;", "&amp;lt;", "{{ 7 * 7 }}", "{{ ''.__class__.__mro__ }}",
    "{% for a in range(99999999) %}x{% endfor %}", "{{ name * 99999999 }}", "{% include '/etc/passwd' %}", "{{", "{%", "{#",
    "{{ name | cut(99999999999) }}", "{{ price | in_currency('XXX') }}", "#read(\"/etc/passwd\")", "#while true {}",
    "#image(\"../../outside/canary.png\")", "#import \"@preview/x:1.0.0\": *", "'; DROP TABLE records; --", "%s%n%99999d",
    "((((((((((a+)+)+)+)+)+)+)+)+)+$", "[a](javascript:alert(1))", "![x](file:///etc/passwd)", "> " * 400, "[" * 2000,
    "*" * 2000, "`" * 2000, "- " * 500, "<" * 2000, "|a" * 500 + "|\n" + "|-" * 500 + "|", "\\" * 1000, "&" * 1000,
)  # fmt: skip
ALL: Final = (*NUMBERS, *AMOUNTS, *LETTERS, *PATHS, *CODE)
FILE_NAMES: Final = (
    "con.toml", "NUL.jpg", "x" * 240, "İ.toml", "a\nb.toml", "a\u202eb.jpg", "Story.md", "story.zz.md", "story..md",
    "SET.TOML", "e\u0301.jpg", "\u00e9.jpg", "a:b.toml", "x.toml.", "x .toml", "-rf", "--help", "shop.toml", "photo.JPG", "a?b.md",
    "out", ".hidden.toml", "~$items.xlsx", "items.xlsx", "items.ods", "items.xls", "wholesale.toml", "print.toml",
)  # fmt: skip

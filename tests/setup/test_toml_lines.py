"""The line that a fault names, however the table is written (TOML 1.0, toml.io/en/v1.0.0)."""

from __future__ import annotations

import pytest

from assistant.files.toml_lines import line_of

TEXT = """title = "Count wheel"
work.kind = "gear"
work.teeth = 3

head = { plates = [[15, 16], [17]], ratio = 40 }
note = \"\"\"
depth = 3
[cutter]
\"\"\"
[blank.outer]
  diameter = [
    1,
    2,
  ]
dry = true
[[ring]]
lines = 1
[ cutter ] # teeth = 9
"number" = 1
[[ring]]
lines = 2
[blank]
length = 1
[ stops . "end stop" ]
at = 2
"""


@pytest.mark.parametrize(
    ("table", "key", "line"),
    [
        ("", "title", 1),
        ("work", "kind", 2),
        ("work", "teeth", 3),  # dotted keys
        ("", "work", 2),
        ("head", "ratio", 5),  # an inline table
        ("", "note", 6),
        ("cutter", "depth", 18),  # not what stands in a text of several lines; its table's line
        ("cutter", "number", 19),
        ("", "cutter", 18),
        ("ring[1]", "lines", 17),
        ("ring[2]", "lines", 21),
        ("ring[2]", "colour", 20),
        ("ring[3]", "lines", 1),
        ("", "ring", 16),
        ("stops.end stop", "at", 25),
        ("blank", "length", 23),  # a table in two places
        ("blank", "outer", 10),
        ("", "stops", 24),
        ("saw", "teeth", 1),
    ],
)
def test_the_line_of_a_key(table: str, key: str, line: int) -> None:
    assert line_of(TEXT, table, key) == line


def test_text_that_is_no_toml_has_a_first_line() -> None:
    assert line_of("title = ", "", "title") == 1

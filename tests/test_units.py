"""A crew that reads feet and inches reads no millimetres and no kilograms, wherever nobody asked for them.

What can be read is taken from the schema, and what is written in the program from its files: a new address,
sheet, drawing, message or page is held to this by itself.
"""

import ast
import io
import json
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from pypdf import PdfReader

from tests.operation_ids import Operation, operations
from tests.operations import world
from tests.operations.asking import address
from tests.operations.world import World, made
from tests.people import Someone, a_crew

ROOT = Path(__file__).parent.parent
APPS = ("config", "crews", "inventory", "cabins", "planning")
METRIC = re.compile(r"(?<!\w)(mm|kg)(?!\w)")
ANY_CASE = re.compile(METRIC.pattern, re.IGNORECASE)  # a danger is printed in capitals
# Files for programs, in millimetres by their format; and what the mill's own form asks for.
FOR_PROGRAMS = {
    "show_planning_problem",
    "show_plan_file",
    "export_crew",
    "list_form_fields",
    "make_cabin_model",
}
FOR_PROGRAMS |= {"download_floor_plan", "download_elevation", "download_opening"}
MILLS = {"show_order_form", "show_mill_order_form", "show_form", "list_forms"}
# Binary, with the crew's unit in the headings.
WORKBOOKS = {"download_chart", "download_cut_list", "download_order_figures"}
MILLS |= {"download_order_workbook", "download_mill_order_workbook"}
# The history of a row before and after, as it is stored.
AS_STORED = {"show_history", "list_changes"}


def feet_and_inches(name: str) -> Someone:
    lead = a_crew(name)
    lead.crew.length_unit = "ft_in"
    lead.crew.save()
    return lead


@pytest.fixture(scope="module")
def in_feet(django_db_setup: None, django_db_blocker: Any) -> Iterator[World]:
    """A crew of feet and inches that has everything."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(world, "a_crew", feet_and_inches)
        with made(django_db_blocker, foreign=False) as found:
            yield found


def reads() -> list[Operation]:
    left_out = FOR_PROGRAMS | MILLS | AS_STORED | WORKBOOKS
    return [one for one in operations() if one.method == "GET" and one.name not in left_out]


def sentences(body: Any) -> Iterator[str]:
    """Every text in an answer: of JSON its values, of a sheet its pages, of a drawing its words."""
    if isinstance(body, dict):
        for name, part in body.items():
            if name not in ("unit", "length_unit", "weight_unit"):
                yield from sentences(part)
    elif isinstance(body, list):
        for part in body:
            yield from sentences(part)
    elif isinstance(body, bytes):
        yield from words_of(body)
    elif isinstance(body, str):
        yield body


def words_of(content: bytes) -> list[str]:
    if content.startswith(b"%PDF"):
        return [page.extract_text() for page in PdfReader(io.BytesIO(content)).pages]
    if content.startswith(b"glTF"):  # a header, then the JSON that names every body
        length = int.from_bytes(content[12:16], "little")
        return list(sentences(json.loads(content[20 : 20 + length])))
    text = content.decode()
    if text.lstrip().startswith("<"):
        return re.findall(r">([^<]+)<", text)
    return [text]


@pytest.mark.parametrize("one", reads(), ids=lambda one: one.name)
def test_no_answer_tells_millimetres_or_kilograms(in_feet: World, db: None, one: Operation) -> None:
    answer = in_feet.asker(one).get(address(one, in_feet.own))

    leaks = [text[:200] for text in sentences(answer.body) if ANY_CASE.search(text)]

    assert leaks == []


def test_a_sheet_and_a_drawing_are_among_what_is_read() -> None:
    names = {one.name for one in reads()}

    assert {"print_setting_sheet", "print_labels", "draw_corner", "show_next_log", "try_log"} <= names


# What is no message: a unit's own name, what an address takes, a file or program of our own.
NO_MESSAGE = {
    "crews/accounts/models.py": {"mm", "kg"},
    "inventory/core/measure.py": {"mm", "kg"},
    "inventory/core/crew_units.py": {"mm", "kg", "kg/m³"},
    "inventory/core/chart_columns.py": {"mm"},
    "inventory/core/form_cells.py": {"mm"},
    "inventory/core/drawings/frame.py": {"mm"},
    "inventory/core/drawings/svg.py": {"mm"},
    "inventory/logs/fields.py": {"mm"},
    "planning/core/files.py": {"mm"},
    # Descriptions that several addresses share.
    "cabins/sheets/parameters.py": {"In mm, or with its unit (`2 1/2 in`)."},
}
DESCRIBES = {"help_text", "label", "help", "description"}


def spoken(tree: ast.Module) -> Iterator[ast.Constant]:
    """Texts in a program that somebody may read: neither comments on it nor descriptions of an address."""
    silent: set[int] = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant):
            silent.add(id(node.value))
        if isinstance(node, ast.keyword) and node.arg in DESCRIBES:
            silent |= {id(part) for part in ast.walk(node.value)}
    for node in ast.walk(tree):
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in silent:
            yield node


def sources(ending: str) -> list[Path]:
    return [
        path
        for app in APPS
        for path in sorted((ROOT / app).rglob(f"*.{ending}"))
        if "migrations" not in path.parts
    ]


def test_no_message_in_a_program_names_a_metric_unit() -> None:
    leaks = []
    for path in sources("py"):
        name = str(path.relative_to(ROOT))
        tree = ast.parse(path.read_text())
        for text in spoken(tree):
            if METRIC.search(text.value):
                is_pattern = text.value.startswith(("|mm|", "(?<="))
                if text.value.strip() not in NO_MESSAGE.get(name, ()) and not is_pattern:
                    leaks.append(f"{name}:{text.lineno}: {text.value[:80]}")

    assert leaks == [], "say it as a Sentence, or by the crew's units (inventory/core/crew_units.py)"


def test_no_page_writes_a_metric_unit_of_its_own() -> None:
    """Units stand in the one formatter of the pages, and in the choice of a unit."""
    leaks = []
    for path in [*sources("js"), *sources("html")]:
        text = re.sub(r'value="(?:mm|kg)"|^\s*(?://|/?\*).*', "", path.read_text(), flags=re.MULTILINE)
        # How lengths are written, and how they are read.
        if path.name in ("lengths.js", "reading.js", "spoken_lengths.js"):
            continue
        leaks += [
            f"{path.relative_to(ROOT)}:{number}: {line.strip()[:80]}"
            for number, line in enumerate(text.splitlines(), start=1)
            if re.search(r"(?:\}|>|\d|[\"'` ]) ?(?:mm|kg)[\"'`<. ,;)]", line)
            and not re.search(r"UNITS = \[|\(mm[,)]|, mm[,)]|\bmm\)|= mm\b|\(kg\)|\[\w+, mm\]", line)
        ]

    assert leaks == [], "write it by `me.length` (crews/static/crews/lengths.js)"

"""Bodies that are none and words that are code: refused with what is wrong, or carried as the text they are.

Generated from the schema file: every operation that takes a body, every address that prints or draws.
"""

import csv
import io
import json
import re
import xml.etree.ElementTree as ET
from typing import Any

import ezdxf
import openpyxl
import pytest
from django.db import transaction
from django.test import Client
from pypdf import PdfReader

from cabins.cabins.models import Cabin
from cabins.heights.models import MeasuredHeight
from cabins.roof_members.models import RoofMember
from cabins.set_logs.models import SetLog
from crews.accounts.models import Crew, Member
from inventory.logs.models import Log
from inventory.mills.models import Mill
from inventory.order_forms.queries import WORKBOOK
from inventory.orders.models import Order, OrderLine
from inventory.yards.models import Rack, Species, Yard
from tests.operation_ids import Operation, operations
from tests.operations.asking import address, body
from tests.operations.test_writes import stored
from tests.operations.world import World

WITH_BODY = [one for one in operations() if "requestBody" in one.told]
WITH_JSON = [one for one in WITH_BODY if "application/json" in one.told["requestBody"]["content"]]
NO_JSON = {
    "deep list": b"[" * 100_000,
    "deep object": b'{"a":' * 100_000 + b"1" + b"}" * 100_000,
    "NaN": b'{"remarks": NaN}',
    "infinity": b'{"remarks": -Infinity}',
    "UTF-16": '{"name": "x"}'.encode("utf-16"),
    "no UTF-8": b'{"name": "\xff\xfe"}',
    "overlong": b'{"name": "\xc0\xae"}',
    "half a character": b'{"name": "\\ud800"}',
    "NUL": b"\x00" * 100,
    "cut off": b'{"name": "x',
    "two": b"{}{}",
}
# As JSON, in the place of every value of a body at once.
ODD_VALUES = {
    "NUL": b'"a\\u0000b"',
    "a long word": b'"' + b"W" * 100_000 + b'"',
    "a whole number of 400 figures": b"9" * 400,
    "a number without end": b"1e400",
    "the largest number": b"1.7976931348623157e308",
    "the smallest number": b"5e-324",
    "no number": b'"NaN"',
    "words without end": b'"-Infinity"',
    "a length of 5000 figures": b'"' + b"9" * 5000 + b' ft"',
    "nothing over nothing": b'"0/0 in"',
    "lists": b"[[[]]]",
    "an object": b'{"$ref": "#/", "__proto__": {}}',
    "true": b"true",
    "null": b"null",
}
HUGE_BYTES = 100 * 1024**2


@pytest.mark.parametrize("sent", NO_JSON.values(), ids=NO_JSON)
def test_what_is_no_json_is_refused_as_such_everywhere(alone, sent):
    odd, before = [], stored()
    for one in WITH_JSON:
        answer = alone.asker(one).ask(one.method, address(one, alone.own), sent, version=1)
        if (answer.status_code, answer.body["type"]) != (400, "/problems/malformed-request"):
            odd.append((one.name, answer.status_code, answer.body))

    assert odd == []
    assert stored() == before


@pytest.mark.parametrize("value", ODD_VALUES.values(), ids=ODD_VALUES)
def test_no_value_breaks_an_operation(alone, value):
    """Each answer is held against the schema as well."""
    odd = []
    for one in WITH_JSON:
        told = json.dumps(everywhere("HERE", body(one, alone.own))).encode()
        with transaction.atomic():
            path, sent = address(one, alone.own), told.replace(b'"HERE"', value)
            answer = alone.asker(one).ask(one.method, path, sent, version=1)
            transaction.set_rollback(True)
        if answer.status_code >= 500:
            odd.append((one.name, answer.status_code))

    assert odd == []


def everywhere(value: str, node: Any) -> Any:
    """The same body with this value in the place of each."""
    if isinstance(node, dict) and node:
        return {name: everywhere(value, part) for name, part in node.items()}
    return [everywhere(value, part) for part in node] if isinstance(node, list) and node else value


class Unread(io.RawIOBase):
    """A body that nobody may read."""

    def read(self, *_: Any) -> bytes:
        raise AssertionError("read before it was refused")


@pytest.mark.parametrize("one", WITH_BODY, ids=[one.name for one in WITH_BODY])
def test_a_body_of_100_mb_is_refused_before_it_is_read(alone, one):
    key = alone.asker(one).who.key
    sent = {"CONTENT_LENGTH": str(HUGE_BYTES), "wsgi.input": Unread(), "HTTP_AUTHORIZATION": f"Bearer {key}"}

    answer = Client().generic(one.method, address(one, alone.own), **sent)

    assert (answer.status_code, answer.json()["type"]) == (413, "/problems/body-too-large")


WORDS = "</text><script>a</script>#panic() *b*"  # what a name may hold at most is 40 signs
FORMULA = '=HYPERLINK("//x")+'
NAMED = {
    Cabin: "name", Crew: "name", RoofMember: "remarks", Log: "remarks", MeasuredHeight: "remarks",
    Mill: "name", Order: "name", OrderLine: "note", Member: "name", Rack: "name", SetLog: "remarks",
    Species: "name", Yard: "name",
}  # fmt: skip
# Sheets and drawings on which no one has written anything.
WORDLESS = {"print_blank_chart"}


def written(words: str) -> None:
    """All that anybody wrote is these words."""
    for model, field in NAMED.items():
        for number, row in enumerate(model.objects.order_by("id")):
            setattr(row, field, f"{words}{number}")
            row.save(update_fields=[field])


def giving(media: str) -> list[Operation]:
    return [
        one for one in operations()
        if one.method == "GET" and media in one.told["responses"].get("200", {}).get("content", {})
    ]  # fmt: skip


def shown(world: World, one: Operation) -> bytes:
    wood = world.own["species"][0]
    Species.objects.filter(id=wood).update(shrink_radial_pct="4.0", shrink_tangential_pct="7.0")
    answer = world.asker(one).get(
        address(one, world.own, **({"species": wood} if "settling" in one.name else {}))
    )
    assert answer.status_code == 200, (one.name, answer.body)
    return answer.body


def test_no_word_becomes_a_part_of_a_drawing(alone):
    written(WORDS)
    told = set()
    for one in giving("image/svg+xml"):
        root = ET.fromstring(shown(alone, one))
        for part in root.iter():
            assert part.tag.split("}")[-1] not in ("script", "foreignObject", "a", "image"), one.name
            assert not [name for name in part.attrib if name.startswith("on") or "href" in name], one.name
        told |= {one.name} if WORDS[:20] in "".join(root.itertext()) else set()

    assert len(told) > 3, "most drawings name something"


def test_no_word_is_read_as_markup_by_a_sheet(alone):
    written(WORDS)
    odd = []
    for one in giving("application/pdf"):
        pages = PdfReader(io.BytesIO(shown(alone, one))).pages
        text = "".join(page.extract_text() for page in pages)
        squeezed = "".join(text.replace("\N{ZERO WIDTH SPACE}", "").split())
        if WORDS.replace(" ", "")[:24] not in squeezed and one.name not in WORDLESS:
            odd.append((one.name, text[:300]))

    assert odd == []


def test_no_word_ends_a_record_of_a_dxf(alone):
    written(WORDS)
    told = set()
    for one in giving("image/vnd.dxf"):
        document = ezdxf.read(io.StringIO(shown(alone, one).decode("utf-8")))
        assert not document.audit().has_errors, one.name
        told |= {one.name for text in document.modelspace().query("TEXT") if WORDS[:20] in text.dxf.text}

    assert len(told) == len(giving("image/vnd.dxf")), "each names its cabin"


# Sums and products that the service writes itself, of cells and nothing else.
OUR_FORMULA = re.compile(r"=SUM\([A-Z]+\d+:[A-Z]+\d+\)|=ROUND\([A-Z]+\d+\*[A-Z]+\d+,2\)")


def test_no_word_becomes_a_formula_in_a_table(alone):
    written(FORMULA)
    for media, cells in ((("text/csv"), cells_of_csv), (WORKBOOK, cells_of_workbook)):
        for one in giving(media):
            found = cells(shown(alone, one))
            assert [cell for cell in found if FORMULA in cell], one.name
            signed = [cell for cell in found if cell.startswith(("=", "+", "-", "@"))]
            assert not [cell for cell in signed if not OUR_FORMULA.fullmatch(cell)], one.name


def cells_of_csv(file: bytes) -> list[str]:
    return [cell for row in csv.reader(io.StringIO(file.decode("utf-8-sig"), newline="")) for cell in row]


def cells_of_workbook(file: bytes) -> list[str]:
    """The cells, a formula with its sign and a text that only looks like one without."""
    rows = [row for sheet in openpyxl.load_workbook(io.BytesIO(file)) for row in sheet.iter_rows()]
    return [str(cell.value) if cell.data_type == "f" else f"'{cell.value}" for row in rows for cell in row]

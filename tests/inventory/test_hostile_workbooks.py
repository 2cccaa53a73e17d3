"""Workbooks that are none, or that would fill the memory: a tally is refused with what is wrong, by HTTP."""

import io
import struct
import zipfile
from collections.abc import Callable
from typing import Any
from uuid import uuid4

import openpyxl
import pytest

from inventory.core.tally_table import NoTable, records_of
from inventory.deliveries.models import DeliveredLog
from inventory.order_forms.queries import WORKBOOK
from tests.inventory.ordering import HEAD, a_sent_order

ROW = [1, "Q1", "white spruce", "20' 6\"", 12.125, 11, 61]
_LOLS = "".join(f'<!ENTITY l{n} "{f"&l{n - 1};" * 10}">' for n in range(1, 10))
# 10 to the power of 9 times the same word, in 700 bytes.
SWELLING = f'<!DOCTYPE worksheet [<!ENTITY l0 "lol">{_LOLS}]>'
READING_FILES = '<!DOCTYPE worksheet [<!ENTITY l9 SYSTEM "file:///etc/passwd">]>'


def a_workbook(*rows: list[Any]) -> bytes:
    book = openpyxl.Workbook()
    for row in (HEAD.split(","), *rows):
        book.worksheets[0].append(row)
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def with_part(name: str, text: bytes) -> bytes:
    """A right workbook but for this part."""
    old, out = zipfile.ZipFile(io.BytesIO(a_workbook(ROW))), io.BytesIO()
    assert name in old.namelist()
    with old, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as new:
        for part in old.namelist():
            new.writestr(part, text if part == name else old.read(part))
    return out.getvalue()


def a_sheet(rows: str, *, head: str = "") -> bytes:
    """A workbook whose sheet has these rows."""
    space = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
    text = f'<?xml version="1.0"?>{head}<worksheet xmlns="{space}"><sheetData>{rows}</sheetData></worksheet>'
    return with_part("xl/worksheets/sheet1.xml", text.encode())


def lying(file: bytes) -> bytes:
    """The workbook, whose first sheet says that it has a thousand bytes."""
    at = file.rindex(b"PK\x01\x02", 0, file.rindex(b"xl/worksheets/sheet1.xml"))
    return file[: at + 24] + struct.pack("<I", 1000) + file[at + 28 :]


# Each made when its own test asks for it: some are large before they are packed.
BROKEN: dict[str, Callable[[], bytes]] = {
    "cut in half": lambda: a_workbook(ROW)[:2000],
    "only the sign of a zip": lambda: b"PK\x03\x04" + b"\x00" * 2000,
    "an empty zip": lambda: b"PK\x05\x06" + b"\x00" * 18,
    "entities that swell": lambda: a_sheet('<row><c t="str"><v>&l9;</v></c></row>', head=SWELLING),
    "entities in the list of parts": lambda: with_part(
        "[Content_Types].xml", f"{SWELLING}<Types>&l9;</Types>".encode()
    ),
    "a file of the server": lambda: a_sheet('<row><c t="str"><v>&l9;</v></c></row>', head=READING_FILES),
    "no sheet": lambda: with_part("xl/workbook.xml", b"<workbook/>"),
    "no XML": lambda: with_part("xl/worksheets/sheet1.xml", b"\x00\xff" * 500),
    "a million empty rows": lambda: a_sheet("<row/>" * 1_000_000),
    "a row at the end of a sheet": lambda: a_sheet('<row r="1048576"><c><v>1</v></c></row>'),
    "a cell far out": lambda: a_sheet('<row r="1"><c r="XFD1"><v>1</v></c></row>'),
    "60 MB": lambda: a_sheet(" " * 60_000_000),
    "60 MB that say they are a thousand bytes": lambda: lying(a_sheet(" " * 60_000_000)),
    "a cell of 20 MB": lambda: a_sheet(f'<row r="1"><c t="str"><v>{"W" * 20_000_000}</v></c></row>'),
    "numbers that are none": lambda: a_workbook([1, "Q1", "white spruce", "1e999", "NaN", "Infinity", 61]),
    "formulas": lambda: a_workbook([1, "Q1", "white spruce", '=HYPERLINK("//x")', "=1+11", "=11", "=61"]),
    "text called a workbook": lambda: b"\xff\xfe\x00\x00not text",
}


@pytest.fixture
def delivery(builder: Any) -> str:
    address = f"deliveries/{uuid4()}"
    builder.put(address, {"order": a_sent_order(builder)})
    return address


@pytest.mark.parametrize("make", BROKEN.values(), ids=BROKEN)
def test_a_workbook_that_is_none_is_refused_and_leaves_the_delivery_as_it_was(builder, delivery, make):
    refused = builder.put(f"{delivery}/tally", make(), media=WORKBOOK)

    assert refused.status_code == 422, refused.body
    assert refused.body["errors"]
    assert "root:" not in str(refused.body)
    assert builder.get(delivery).body["state"] == "announced"
    assert not DeliveredLog.objects.exists()


@pytest.mark.parametrize("what", ["a million empty rows", "60 MB"])
def test_a_workbook_that_would_fill_the_memory_is_never_handed_to_its_reader(what, monkeypatch):
    def read(*_: Any, **__: Any) -> None:
        raise AssertionError("read")

    monkeypatch.setattr(openpyxl, "load_workbook", read)
    with pytest.raises(NoTable, match="larger than any tally"):
        records_of(BROKEN[what](), delimiter=",", decimal_mark=".")

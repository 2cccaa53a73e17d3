"""A file that is cut off, changed, not understood or far too large is refused, and nothing of it stays."""

import json
import zipfile
from random import Random
from uuid import uuid4

import pytest
from django.test import override_settings

from config.archive.form import MANIFEST, README
from config.archive.opening import ArchiveRefused, opened
from config.archive.tables import tables
from tests.archive.world import Rows, held, repacked, rewritten, with_manifest

pytestmark = pytest.mark.django_db(transaction=True)
LOGS = "inventory.log.jsonl"


@pytest.mark.parametrize("left", [0, 1, 21, 400, 0.5, 0.99])
def test_a_file_that_was_cut_off_is_refused(archive, refused, left):
    whole = archive.read_bytes()
    archive.write_bytes(whole[: left if isinstance(left, int) else int(len(whole) * left)])

    assert "cut off" in refused(archive)


def test_no_file_a_folder_and_something_else_are_refused(archive, refused, tmp_path):
    other = tmp_path / "chart.csv"
    other.write_text("number,length\n" * 100)

    assert "there is no file" in refused(tmp_path / "none.zip")
    assert "is no archive" in refused(tmp_path)
    assert "is no archive" in refused(other)


def test_a_changed_byte_is_found_wherever_it_is(archive, refused):
    whole = archive.read_bytes()
    with zipfile.ZipFile(archive) as packed:
        entry = packed.getinfo(LOGS)
    at = entry.header_offset + 30 + len(LOGS) + entry.compress_size // 2
    archive.write_bytes(whole[:at] + bytes([whole[at] ^ 1]) + whole[at + 1 :])

    assert refused(archive).startswith(f"{LOGS}, line ")


def test_whatever_is_bent_in_a_file_it_is_refused_or_read_as_it_was(archive):
    """Bytes changed here and there, as a bad disk or a hostile hand would: nothing else is ever raised."""
    whole, chance, refused = archive.read_bytes(), Random(7), 0
    files = held(archive)
    ends = range(len(whole) - 6000, len(whole))  # the list of files, where most can be bent
    for turn in range(400):
        bent = bytearray(whole)
        for _ in range(1 + turn % 3):
            bent[chance.choice(ends) if turn % 2 else chance.randrange(len(whole))] = chance.randrange(256)
        archive.write_bytes(bent)
        try:
            with opened(archive, limit_bytes=1 << 30) as read:
                for table in tables():
                    assert b"".join(line for _, line in read.lines_of(table)) == files[table.file]
        except ArchiveRefused:
            refused += 1
    assert refused > 300


def test_rows_that_the_manifest_was_not_written_for_are_refused(archive, refused):
    def remark(rows: Rows) -> None:
        rows[LOGS][0]["remarks"] = "other words"

    def one_less(rows: Rows) -> None:
        rows[LOGS].pop()

    def one_more(rows: Rows) -> None:
        rows[LOGS].append({**rows[LOGS][0], "id": str(uuid4())})

    said = [refused(rewritten(archive, change, honest=False)) for change in (remark, one_less, one_more)]

    assert all(one.startswith(LOGS) for one in said), said


@pytest.mark.parametrize(
    ("changed", "why"),
    [
        ({"format": "roundlay-crew/2"}, "this server reads roundlay-crew/1"),
        ({"format": None}, "this server reads roundlay-crew/1"),
        ({"schema": {"crews": "0001_initial"}}, "another version of the service"),
        ({"crew": {"id": "' OR true --", "name": ""}}, "the crew's id is no id"),
        ({"crew": None}, "not what a manifest says"),
        ({"files": {}}, "does not name the files"),
        ({"files": [{"name": LOGS}]}, "not what a manifest says"),
    ],
)
def test_a_manifest_that_is_not_understood_is_refused(archive, refused, changed, why):
    assert why in refused(with_manifest(archive, **changed))


@pytest.mark.parametrize("text", [b"", b"[]", b"{", b"[" * 100_000, b"null", b'{"format": 1}'])
def test_a_manifest_that_is_none_is_refused(archive, refused, text):
    assert refused(repacked(archive, {**held(archive), MANIFEST: text})).startswith(MANIFEST)


@pytest.mark.parametrize("bytes_told", [-1, 1.5, "9", True])
def test_a_manifest_with_odd_counts_is_refused(archive, refused, bytes_told):
    files = json.loads(held(archive)[MANIFEST])["files"]
    files[0]["bytes"] = bytes_told

    assert "not what a manifest says" in refused(with_manifest(archive, files=files))


def test_a_file_too_many_too_few_or_twice_is_refused(archive, refused):
    files = held(archive)
    more = repacked(archive, {**files, "../../etc/cron.d/owned": b"* * * * *"})
    less = repacked(archive, {name: text for name, text in files.items() if name != LOGS})
    twice = repacked(archive, files)
    with zipfile.ZipFile(twice, "a") as packed, pytest.warns(UserWarning, match="Duplicate"):
        packed.writestr(README, "again")

    assert "cron.d/owned: does not belong" in refused(more)
    assert refused(less) == f"{LOGS}: is missing."
    assert "twice" in refused(twice)


def test_a_bomb_goes_off_nowhere(archive, refused):
    """A few kB that unpack to a GB: not read further than what was told, and told too much is not read."""
    bomb = archive.with_name("bomb.zip")
    with zipfile.ZipFile(bomb, "w", zipfile.ZIP_DEFLATED) as packed:
        for name, text in held(archive).items():
            with packed.open(name, "w") as file:
                file.write(text)
                for _ in range(64 if name == LOGS else 0):
                    file.write(b" " * (1 << 20))
    line = held(archive)[LOGS].count(b"\n") + 1
    assert refused(bomb) == f"{LOGS}, line {line}: longer than it may be."

    told = json.loads(held(archive)[MANIFEST])["files"]
    next(part for part in told if part["name"] == LOGS)["bytes"] = 1 << 40
    assert "ROUNDLAY_ARCHIVE_LIMIT_MB" in refused(with_manifest(archive, files=told))


def test_a_manifest_that_is_a_bomb_is_not_unpacked(archive, refused):
    assert refused(repacked(archive, {**held(archive), MANIFEST: b" " * (1 << 26)})).endswith(
        "longer than it may be."
    )


def test_an_archive_larger_than_the_operator_allows_is_refused(archive, refused):
    with override_settings(ARCHIVE_LIMIT_BYTES=archive.stat().st_size - 1):
        assert "reads up to" in refused(archive)
    with override_settings(ARCHIVE_LIMIT_BYTES=archive.stat().st_size):
        assert "ROUNDLAY_ARCHIVE_LIMIT_MB" in refused(archive)


def test_a_list_of_very_many_files_is_not_read(archive, refused):
    many = archive.with_name("many.zip")
    with zipfile.ZipFile(many, "w") as packed:
        for number in range(2000):
            packed.writestr(str(number), b"")

    assert refused(many) == f"{many} holds more files than an archive has."


@pytest.mark.parametrize("method", [zipfile.ZIP_BZIP2, zipfile.ZIP_LZMA])
def test_packed_in_another_way_is_refused(archive, refused, method):
    other = archive.with_name("other.zip")
    with zipfile.ZipFile(other, "w", method) as packed:
        for name, text in held(archive).items():
            packed.writestr(name, text)

    assert "packed in a way that is not read here" in refused(other)

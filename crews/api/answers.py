"""Answers of views: a row with its ETag, created or not; figures that were reckoned."""

from typing import Any

from rest_framework.response import Response

from crews.api.fast_rows import RowJson
from crews.api.figures import noise_free
from crews.api.versions import etag


def answered_row(row: RowJson, *, created: bool = False) -> Response:
    """The same for a row whose one key is its version."""
    return Response(row.json, status=201 if created else 200, headers={"ETag": etag(row.keys[0])})


def answered(row: dict[str, Any], *, created: bool = False, status: int | None = None) -> Response:
    """The row as JSON; 201 if it was created, and its version as ETag if it has one."""
    headers = {"ETag": etag(row["version"])} if "version" in row else {}
    return Response(row, status=status or (201 if created else 200), headers=headers)


def reckoned(found: Any) -> Response:
    """What was reckoned and is not stored, as JSON."""
    return Response(without_noise(found))


def without_noise(value: Any) -> Any:
    """The same with floats to five figures, hundredths at least: no digits that mean nothing."""
    if isinstance(value, float):
        return noise_free(value)
    if isinstance(value, dict):
        return {name: without_noise(part) for name, part in value.items()}
    if isinstance(value, list | tuple):
        return [without_noise(part) for part in value]
    return value

"""The whole cabin drawn and as a 3D file: every log where plan and wall say, as thick as it is."""

import io
import json
import math
import struct
import xml.etree.ElementTree as ET

import numpy as np
import pytest
import trimesh

from cabins.core.drawings.in_space import AROUND, LogInSpace, logs_in_space
from cabins.core.drawings.pieces import Filling
from cabins.core.drawings.whole import SIDES, WholeCabin, draw_whole, hull_of, nearest_corner
from cabins.core.layout import read_layout
from cabins.core.model_file import write_model
from cabins.core.places import places_of
from tests.cabins.core.drawings import a_partition, a_rectangle, an_l_shape, an_opening
from tests.cabins.core.test_wall_drawings import SVG, built

LAYOUTS = {
    "rectangle": a_rectangle(openings=[an_opening()]),
    "with a partition": a_rectangle(partitions=[a_partition()]),
    "an L": an_l_shape(),
}


@pytest.fixture(params=LAYOUTS)
def hut(request: pytest.FixtureRequest) -> WholeCabin:
    """Two rounds set and two planned; what is over them is empty."""
    stack, pieces = built(read_layout(LAYOUTS[request.param]), rounds=2, planned=2)
    return WholeCabin(cabin="Pond hut", of_what="built and planned", stack=stack, pieces=tuple(pieces))


def logs_of(hut: WholeCabin) -> dict[tuple[str, int, int], LogInSpace]:
    return {(log.wall, log.round, log.piece): log for log in logs_in_space(hut.stack, hut.pieces)}


def ends_of(log: LogInSpace) -> list[np.ndarray]:
    return [np.mean(log.sections[end], axis=0) for end in (0, -1)]


def thickness_mm(section) -> float:
    heights = [z for *_, z in section]
    return max(heights) - min(heights)


def test_every_place_is_in_space_as_long_as_it_is(hut):
    logs = logs_of(hut)

    places = places_of(hut.stack.layout)
    assert len(logs) == len(places)
    for place in places:
        first, last = ends_of(logs[place.wall, place.round, place.piece])
        assert math.dist(first[:2], last[:2]) == pytest.approx(place.length_mm)


def test_a_log_is_as_thick_in_space_as_it_was_charted(hut):
    logs = logs_of(hut)

    for piece in hut.pieces:
        diameters = [at for _, at in piece.profile.stations]
        thick = [thickness_mm(section) for section in logs[piece.place].sections]
        assert min(diameters) - 10 <= min(thick) <= max(thick) <= max(diameters) + 10
        assert thick == pytest.approx(sorted(thick, reverse=piece.butt_at == "start"))


def test_crossing_walls_share_their_corner():
    stack, pieces = built(read_layout(a_rectangle()), rounds=2)
    corners = {one.id: np.array([one.x_mm, one.y_mm]) for one in stack.layout.corners}
    walls = {one.id: one for one in stack.layout.walls}

    for log in logs_in_space(stack, pieces, with_empty=False):
        first, last = (end[:2] for end in ends_of(log))
        along = (last - first) / math.dist(first, last)
        for corner in (walls[log.wall].from_corner, walls[log.wall].to_corner):
            to_corner = corners[corner] - first
            assert abs(along[0] * to_corner[1] - along[1] * to_corner[0]) < 1e-6


@pytest.mark.parametrize("side", SIDES)
def test_the_drawing_has_each_log_once_told_apart_by_its_filling(hut, side):
    root = ET.fromstring(draw_whole(hut, side=side))

    drawn = [one for one in root.iter(f"{SVG}polygon") if one.get("data-wall")]
    assert len(drawn) == len(places_of(hut.stack.layout))
    numbers = [one.get("data-log") for one in drawn if one.get("data-log")]
    assert sorted(numbers) == sorted(piece.log_number for piece in hut.pieces)
    fills = {one.get("data-filling"): one.get("fill") for one in drawn}
    assert set(fills) == {"set", "reserved", "empty"}
    assert len(set(fills.values())) == 3
    words = root.find(f"{SVG}desc").text
    assert f"corner {nearest_corner(hut.stack.layout, side=side)}" in words
    assert f"{sum(1 for one in hut.pieces if one.filling is Filling.SET)} set" in words


def test_the_four_sides_are_seen_from_four_corners():
    stack, _ = built(read_layout(a_rectangle()), rounds=1)
    assert len({nearest_corner(stack.layout, side=side) for side in SIDES}) == 4


def test_the_higher_log_is_drawn_over_the_lower(hut):
    root = ET.fromstring(draw_whole(hut, side=1))

    logs = logs_of(hut)
    heights = [
        logs[one.get("data-wall"), int(one.get("data-round")), int(one.get("data-piece"))].height_mm
        for one in root.iter(f"{SVG}polygon")
        if one.get("data-wall")
    ]
    assert heights == sorted(heights)


def test_the_hull_of_points_is_their_outline():
    square = [(0.0, 0.0), (2.0, 0.0), (2.0, 2.0), (0.0, 2.0)]
    assert set(hull_of([*square, (1.0, 1.0), (1.0, 0.0)])) == set(square)


def test_the_3d_file_is_gltf_2_with_every_log_as_a_closed_body_of_its_size(hut):
    logs = [log for log in logs_of(hut).values() if log.filling is not None]

    glb = write_model("Pond hut", logs)

    magic, version, length = struct.unpack("<4sII", glb[:12])
    assert (magic, version, length) == (b"glTF", 2, len(glb))
    told = json.loads(glb[20 : 20 + struct.unpack("<I", glb[12:16])[0]])
    assert told["asset"]["version"] == "2.0"
    read = trimesh.load(io.BytesIO(glb), file_type="glb")
    assert len(read.geometry) == len(hut.pieces) == len(told["meshes"])
    for log in logs:
        body = read.geometry[log.words]
        body.merge_vertices(merge_norm=True)
        assert body.is_watertight
        assert body.volume == pytest.approx(volume_m3(log), rel=1e-3)
        assert body.metadata["log"] == log.log_number
    highest = max(z for log in logs for section in log.sections for *_, z in section)
    assert read.bounds[1][1] * 1000 == pytest.approx(highest, abs=0.1)  # y points up, in metres


def volume_m3(log: LogInSpace) -> float:
    """Of a round log: frusta between its sections, each a regular polygon of AROUND corners."""
    share = AROUND / 8 * math.sin(math.tau / AROUND)
    found = 0.0
    for near, far in zip(log.sections, log.sections[1:], strict=False):
        length = math.dist(np.mean(near, axis=0)[:2], np.mean(far, axis=0)[:2])
        a, b = thickness_mm(near), thickness_mm(far)
        found += length * share * (a * a + a * b + b * b) / 3
    return found / 1e9

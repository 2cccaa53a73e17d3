"""DXF opened again by its library: units, layers, a block for each log, and the figures of the wall."""

import io
import math
import subprocess
import sys
from itertools import pairwise

import ezdxf
import pytest
from ezdxf.document import Drawing

from cabins.core.cad.elevation import elevation_dxf
from cabins.core.cad.floor_plan import floor_plan_dxf
from cabins.core.cad.opening import opening_dxf
from cabins.core.cad.sheet import CadSheet, Layer
from cabins.core.courses import fit_openings
from cabins.core.drawings.elevation import Elevation
from cabins.core.drawings.hole import OpeningToDraw
from cabins.core.drawings.pieces import outline_of
from cabins.core.layout import read_layout
from cabins.core.places import columns_of, places_of
from tests.cabins.core.drawings import a_partition, a_rectangle, an_l_shape, an_opening
from tests.cabins.core.test_wall_drawings import MM, built

LAYOUTS = {
    "rectangle": a_rectangle(openings=[an_opening()]),
    "with a partition": a_rectangle(partitions=[a_partition()]),
    "an L": an_l_shape(),
    "lapped": a_rectangle(notch="lap"),
}


def opened(dxf: bytes) -> Drawing:
    """The drawing as its library reads it, sound in its own eyes."""
    document = ezdxf.read(io.StringIO(dxf.decode("utf-8")))
    auditor = document.audit()
    assert not auditor.errors and not auditor.fixes
    assert (document.header["$INSUNITS"], document.header["$MEASUREMENT"]) == (4, 1)
    assert {layer.dxf.name for layer in document.layers} >= set(Layer)
    return document


def elevation_of(stack, pieces, wall: str, cabin: str = "Pond hut") -> Drawing:
    shown = Elevation(cabin=cabin, wall=wall, of_what="as built", stack=stack, pieces=tuple(pieces), units=MM)
    return opened(elevation_dxf(shown))


def blocks_of(document: Drawing) -> dict[tuple[str, int, int], dict]:
    """Each log's attributes, outlines and notches by its place, as they lie in the drawing."""
    found = {}
    for reference in document.modelspace().query("INSERT"):
        told = {attribute.dxf.tag: attribute.dxf.text for attribute in reference.attribs}
        drawn = [one for one in reference.virtual_entities() if one.dxftype() == "LWPOLYLINE"]
        key = (told["WALL"], int(told["ROUND"]), int(told["PIECE"]))
        assert key not in found
        found[key] = {
            "told": told,
            "name": reference.dxf.name,
            "outline": next(one for one in drawn if one.dxf.layer == "logs"),
            "notches": [one for one in drawn if one.dxf.layer == "notches"],
        }
    return found


def measured(document: Drawing) -> list[float]:
    return [one.get_measurement() for one in document.modelspace().query("DIMENSION[layer=='dimensions']")]


def corners(polyline) -> list[tuple[float, float]]:
    return [(x, y) for x, y in polyline.get_points("xy")]


@pytest.mark.parametrize("name", LAYOUTS)
def test_every_log_of_a_wall_is_a_block_with_its_ends_and_edges(name):
    stack, pieces = built(read_layout(LAYOUTS[name]), rounds=2, planned=2)
    places = {(one.wall, one.round, one.piece): one for one in places_of(stack.layout)}

    for wall in stack.layout.log_walls:
        document = elevation_of(stack, pieces, wall.id)

        blocks = blocks_of(document)
        here = {piece.place: piece for piece in pieces if piece.wall == wall.id}
        assert set(blocks) == set(here)
        assert len({one["name"] for one in blocks.values()}) == len(here), "a block for each log"
        for key, one in blocks.items():
            points = corners(one["outline"])
            place, edges = places[key], outline_of(stack, places[key], here[key])
            assert one["outline"].closed
            assert min(x for x, _ in points) == pytest.approx(place.start_mm, abs=1e-6)
            assert max(x for x, _ in points) == pytest.approx(place.end_mm, abs=1e-6)
            for at, height in (*edges.upper, *edges.lower):
                assert min(math.dist((at, height), point) for point in points) < 1e-6
            assert one["told"]["LOG"] == here[key].log_number
            assert one["told"]["FILLING"] == here[key].filling
        empty = document.modelspace().query("LWPOLYLINE[layer=='empty']")
        assert len(empty) == sum(1 for key in places if key[0] == wall.id) - len(here)
        assert wall.length_mm in [pytest.approx(one, abs=1e-6) for one in measured(document)]


@pytest.mark.parametrize("name", LAYOUTS)
def test_each_notch_is_as_deep_and_wide_as_the_log_under_it_asks(name):
    stack, pieces = built(read_layout(LAYOUTS[name]), rounds=3)
    checked = 0

    for wall in stack.layout.log_walls:
        for (_, number, _), one in blocks_of(elevation_of(stack, pieces, wall.id)).items():
            outline = corners(one["outline"])
            reach = min(x for x, _ in outline), max(x for x, _ in outline)
            asked = {
                n.at_mm: n
                for n in stack.notches
                if (n.wall, n.round) == (wall.id, number) and reach[0] < n.at_mm < reach[1] and n.depth_mm > 0
            }
            assert len(one["notches"]) == len(asked)
            for drawn in one["notches"]:
                xs, ys = zip(*corners(drawn), strict=True)
                notch = asked[min(asked, key=lambda at: abs(at - sum(xs) / len(xs)))]
                under = stack.heights_mm[wall.id, number, notch.column] - notch.diameter_mm
                assert min(ys) == pytest.approx(under, abs=1e-6)
                assert top_of(drawn) == pytest.approx(under + notch.depth_mm, abs=1e-6)
                over = next(
                    c.column
                    for c in columns_of(stack.layout)[notch.over_wall]
                    if c.crossing == notch.crossing
                )
                thick = stack.diameters_mm[notch.over_wall, notch.over_round, over]
                centre = under + notch.depth_mm - thick / 2
                wide = thick if name == "lapped" or centre >= under else chord(thick, under - centre)
                assert max(xs) - min(xs) == pytest.approx(wide, abs=1e-6)
                checked += 1

    assert checked > 10


def chord(diameter: float, off: float) -> float:
    return 2 * math.sqrt((diameter / 2) ** 2 - off**2)


def top_of(polyline) -> float:
    """The highest point of a run of lines and arcs."""
    heights = [y for _, y in corners(polyline)]
    for (x, y, bulge), (x1, y1, _) in pairwise(polyline.get_points("xyb")):
        if bulge:  # an arc over a level chord rises by the bulge times half the chord
            assert y == pytest.approx(y1)
            heights.append(y + bulge * abs(x1 - x) / 2)
    return max(heights)


def test_openings_have_their_sizes_on_their_layer_and_as_dimensions():
    layout = read_layout(LAYOUTS["rectangle"])
    stack, pieces = built(layout, rounds=3)
    (opening,) = layout.openings

    document = elevation_of(stack, pieces, opening.wall)

    (frame,) = document.modelspace().query("LWPOLYLINE[layer=='openings']")
    assert set(corners(frame)) == {
        (x, y) for x in (opening.offset_mm, opening.end_mm) for y in (opening.sill_mm, opening.head_mm)
    }
    lengths = [pytest.approx(one, abs=1e-6) for one in measured(document)]
    assert opening.width_mm in lengths and opening.head_mm - opening.sill_mm in lengths


def test_the_sheet_of_an_opening_has_its_hole_frame_and_cuts():
    layout = read_layout(LAYOUTS["rectangle"])
    stack, pieces = built(layout, rounds=layout.round_count)
    fitted = fit_openings(stack, spaces_mm={one.id: 60.0 for one in layout.openings})[0]
    shown = OpeningToDraw(
        cabin="Pond hut", of_what="as built", stack=stack, pieces=tuple(pieces), fitted=fitted, units=MM
    )

    document = opened(opening_dxf(shown))

    hole, opening = fitted.hole, fitted.opening
    drawn = [set(corners(one)) for one in document.modelspace().query("LWPOLYLINE[layer=='openings']")]
    for low, high in ((hole.bottom_mm, hole.top_mm), (opening.sill_mm, opening.head_mm)):
        assert {(x, y) for x in (hole.near_mm, hole.far_mm) for y in (low, high)} in drawn
    asked = [
        depths for edge in fitted.fit.edges for depths in (edge.cut_mm, edge.infill_mm) if max(depths) > 0.05
    ]
    cuts = [corners(one) for one in document.modelspace().query("LWPOLYLINE[layer=='cuts']")]
    deep = [tuple(abs(points[3 - end][1] - points[end][1]) for end in (0, 1)) for points in cuts]
    assert asked
    assert deep == [pytest.approx(one, abs=1e-6) for one in asked]
    lengths = [pytest.approx(one, abs=1e-6) for one in measured(document)]
    assert hole.far_mm - hole.near_mm in lengths and hole.height_mm in lengths
    blocks = blocks_of(document)
    assert {key[1] for key in blocks} >= set(fitted.fit.through)


@pytest.mark.parametrize("name", LAYOUTS)
def test_the_floor_plan_is_the_layout_with_y_up(name):
    layout = read_layout(LAYOUTS[name])

    document = opened(floor_plan_dxf("Pond hut", layout))

    space = document.modelspace()
    for corner in layout.corners:
        (text,) = [one for one in space.query("TEXT[layer=='text']") if one.dxf.text == corner.id]
        assert tuple(text.dxf.align_point)[:2] == pytest.approx((corner.x_mm, corner.y_mm))
    walls = {}
    for reference in space.query("INSERT"):
        told = {attribute.dxf.tag: attribute.dxf.text for attribute in reference.attribs}
        (band,) = reference.virtual_entities()
        walls[told["WALL"]] = corners(band)
    assert set(walls) == {one.id for one in layout.log_walls}
    for wall in layout.log_walls:
        a, b, c, _ = walls[wall.id]
        assert math.dist(a, b) == pytest.approx(wall.to_mm - wall.from_mm)
        assert math.dist(b, c) == pytest.approx(layout.log_middle_mm)
    drawn = space.query("LWPOLYLINE[layer=='openings']")
    assert [math.dist(*corners(one)[:2]) for one in drawn] == [
        pytest.approx(one.width_mm) for one in layout.openings
    ]
    lengths = measured(document)
    wanted = [one.length_mm for one in layout.log_walls] + [one.width_mm for one in layout.openings]
    assert sorted(lengths) == pytest.approx(sorted(wanted), abs=1e-6)


def test_names_that_a_file_could_stumble_over_are_kept_as_told():
    stack, pieces = built(read_layout(a_rectangle()), rounds=1)
    odd = {"line\n0\nEOF", 'Hütte <*|"?>', "日本", "=1+1"}
    pieces = [
        type(piece)(**{**{f: getattr(piece, f) for f in piece.__slots__}, "log_number": name})
        for piece, name in zip(pieces, odd, strict=False)
    ]

    numbers = set()
    for wall in "ABCD":
        document = elevation_of(stack, pieces, wall, cabin="Hut\n0\nEOF")
        numbers |= {one["told"]["LOG"] for one in blocks_of(document).values()}

    assert numbers == {name.replace("\n", " ") for name in odd}


def test_two_blocks_of_one_name_are_kept_apart():
    sheet = CadSheet()
    sheet.block("log-a/b", (0, 0), {"WALL": "a/b"})
    sheet.block("log-a?b", (0, 0), {"WALL": "a?b"})

    document = opened(sheet.as_bytes())

    names = [one.dxf.name for one in document.modelspace().query("INSERT")]
    assert names == ["log-a_b", "log-a_b_2"]


def test_the_same_drawing_is_the_same_file():
    layout = read_layout(a_rectangle())
    assert floor_plan_dxf("Pond hut", layout) == floor_plan_dxf("Pond hut", layout)


def test_a_process_loads_the_dxf_library_only_when_one_is_asked_for():
    code = "import sys, cabins.core.cad.elevation, cabins.core.cad.floor_plan, cabins.core.cad.opening\n"
    code += "sys.exit('ezdxf' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", code], check=False, timeout=60).returncode == 0

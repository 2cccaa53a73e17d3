"""Drawings of a cabin measured: what stands in the SVG is what the plan and the wall say."""

import xml.etree.ElementTree as ET
from datetime import date
from typing import Any

import pytest

from cabins.core.drawings.corner import CornerToDraw, draw_corner
from cabins.core.drawings.elevation import Elevation, draw_elevation
from cabins.core.drawings.floor_plan import draw_floor_plan
from cabins.core.drawings.levels import draw_levels
from cabins.core.drawings.pieces import Filling, PieceToDraw
from cabins.core.drawings.settling import HeightReading, SettlingToDraw, SpaceToLeave, draw_settling
from cabins.core.layout import Layout, read_layout
from cabins.core.pieces import ButtAt, LaidPiece, column_diameters
from cabins.core.places import columns_of, places_of
from cabins.core.settling_sheet import RoundSettling
from cabins.core.stack import Stack, stack_up
from inventory.core.crew_units import CrewUnits
from inventory.core.drawings.hazards import HazardToDraw
from inventory.core.drawings.svg import BadDrawing
from inventory.core.measure import Unit
from inventory.core.profile import diameter_mm_at, profile_of
from tests.cabins.core.drawings import a_partition, a_rectangle, an_l_shape, an_opening

SVG = "{http://www.w3.org/2000/svg}"
MM = CrewUnits(unit=Unit.MM)


def built(
    layout: Layout, *, rounds: int, planned: int = 0, **measured: Any
) -> tuple[Stack, list[PieceToDraw]]:
    """A wall of `rounds` set and `planned` reserved ones, each log of another taper, butts turn about."""
    pieces = []
    for number, place in enumerate(places_of(layout)):
        if place.round > rounds + planned:
            continue
        profile = profile_of(
            length_mm=place.length_mm + 400,
            butt_mm=345 + number % 7,
            middle_mm=318 + number % 5,
            tip_mm=290 + number % 3,
        )
        pieces.append(
            PieceToDraw(
                wall=place.wall,
                round=place.round,
                piece=place.piece,
                log_number=f"L{number}",
                from_butt_mm=150,
                butt_at=ButtAt.START if number % 2 else ButtAt.END,
                profile=profile,
                filling=Filling.SET if place.round <= rounds else Filling.RESERVED,
            )
        )
    laid = [
        LaidPiece(
            wall=one.wall,
            round=one.round,
            piece=one.piece,
            from_butt_mm=one.from_butt_mm,
            butt_at=one.butt_at,
            diameter_at=lambda at, profile=one.profile: diameter_mm_at(profile, at),
        )
        for one in pieces
    ]
    stack = stack_up(layout, diameters_mm=column_diameters(layout, laid), measured_mm=measured.get("tops"))
    return stack, pieces


def elevation(stack: Stack, pieces: list[PieceToDraw], wall: str, cabin: str = "Pond hut") -> ET.Element:
    return ET.fromstring(
        draw_elevation(
            Elevation(cabin=cabin, wall=wall, of_what="as built", stack=stack, pieces=tuple(pieces), units=MM)
        )
    )


def corner(stack: Stack, pieces: list[PieceToDraw], name: str) -> ET.Element:
    return ET.fromstring(
        draw_corner(
            CornerToDraw(
                cabin="Pond hut",
                crossing=name,
                of_what="as built",
                stack=stack,
                pieces=tuple(pieces),
                units=MM,
            )
        )
    )


def edges_at(polygon: ET.Element, x: float) -> list[float]:
    """Heights above the deck at which a polygon's outline lies at a position."""
    points = [tuple(map(float, pair.split(","))) for pair in polygon.attrib["points"].split()]
    found = {
        round(-(y0 + (y1 - y0) * (x - x0) / (x1 - x0)), 3)
        for (x0, y0), (x1, y1) in zip(points, [*points[1:], points[0]], strict=True)
        if x0 != x1 and min(x0, x1) <= x <= max(x0, x1)
    }
    return sorted(found)


@pytest.mark.parametrize("wall", ["A", "B", "C", "D"])
def test_a_logs_drawn_height_at_a_corner_is_the_plans_figure(wall: str):
    layout = read_layout(a_rectangle())
    stack, pieces = built(layout, rounds=2, planned=6)

    root = elevation(stack, pieces, wall)

    measured = 0
    for column in columns_of(layout)[wall]:
        for polygon in root.findall(f".//{SVG}polygon[@data-log]"):
            edges = edges_at(polygon, column.at_mm)
            if not edges:
                continue
            spot = (wall, int(polygon.attrib["data-round"]), column.column)
            assert edges[1] == pytest.approx(stack.heights_mm[spot], abs=0.01)
            assert edges[1] - edges[0] == pytest.approx(stack.diameters_mm[spot], abs=0.01)
            measured += 1
    assert measured == 2 * layout.round_count


@pytest.mark.parametrize("width_mm", [600, 950, 2000])
def test_an_opening_is_given_with_its_whole_size_however_narrow(width_mm: int):
    layout = read_layout(a_rectangle(openings=[an_opening(width_mm=width_mm)]))
    stack, pieces = built(layout, rounds=2)

    told = [one.text or "" for one in elevation(stack, pieces, "A").iter(f"{SVG}text")]

    assert f"{width_mm} mm x 1817 mm" in " ".join(told)
    assert not [words for words in told if "…" in words]


def test_measured_heights_move_the_logs_that_are_drawn():
    layout = read_layout(a_rectangle())
    stack, pieces = built(layout, rounds=2, tops={("A", 1, 0): 371.5, ("A", 1, 1): 366.0})

    root = elevation(stack, pieces, "A")

    first = root.find(f".//{SVG}polygon[@data-round='1']")
    assert first is not None
    assert edges_at(first, 0.0)[1] == pytest.approx(371.5, abs=0.01)
    assert edges_at(first, layout.walls[0].length_mm)[1] == pytest.approx(366.0, abs=0.01)
    bold = [one for one in root.iter(f"{SVG}text") if one.get("text-decoration") == "underline"]
    assert {"372 mm", "366 mm"} <= {one.text for one in bold}


def test_a_wall_off_its_plan_says_by_how_much_beside_its_heights():
    layout = read_layout(a_rectangle())
    plain = stack_up(layout, diameters_mm={})
    measured = {("A", 1, 0): plain.heights_mm["A", 1, 0] + 9, ("A", 1, 1): plain.heights_mm["A", 1, 1] - 1}
    stack = stack_up(layout, diameters_mm={}, planned_mm=plain.heights_mm, measured_mm=measured)
    shown = {"cabin": "Hut", "of_what": "as built", "pieces": (), "units": MM}

    wall = draw_elevation(Elevation(wall="A", stack=stack, **shown))
    corner = draw_corner(CornerToDraw(crossing="SW", stack=stack, **shown))
    on_plan = draw_elevation(Elevation(wall="A", stack=plain, **shown))

    for drawn in (wall, corner):
        assert ">9 mm high</text>" in drawn
        assert " low</text>" not in drawn, "one millimetre is within what heights are read to"
    assert " high</text>" not in on_plan


def test_a_log_between_corner_and_opening_keeps_its_own_taper():
    layout = read_layout(a_rectangle())
    stack, pieces = built(layout, rounds=3)
    piece = next(one for one in pieces if one.place == ("A", 3, 0))
    place = next(one for one in places_of(layout) if (one.wall, one.round, one.piece) == piece.place)

    polygon = elevation(stack, pieces, "A").find(f".//{SVG}polygon[@data-log='{piece.log_number}']")

    assert polygon is not None
    low, high = edges_at(polygon, place.end_mm)
    end = piece.from_butt_mm if piece.butt_at is ButtAt.END else piece.from_butt_mm + place.length_mm
    assert high - low == pytest.approx(diameter_mm_at(piece.profile, end), abs=0.01)


def test_set_reserved_and_empty_are_told_apart_without_colour():
    layout = read_layout(a_rectangle())
    stack, pieces = built(layout, rounds=2, planned=3)

    root = elevation(stack, pieces, "C")

    looks = {}
    for one in root.iter(f"{SVG}polygon"):
        if filling := one.get("data-filling"):
            looks[filling] = ("url(" in one.attrib["fill"], "stroke-dasharray" in one.attrib)
    assert looks == {"set": (False, False), "reserved": (True, False), "empty": (False, True)}
    assert "2 set, 6 reserved, 4 empty" in "".join(root.itertext())


def test_metal_is_marked_where_it_lies_in_the_wall():
    layout = read_layout(a_rectangle())
    stack, pieces = built(layout, rounds=1)
    first = next(one for one in pieces if one.place == ("A", 1, 0))
    at = next(p for p in places_of(layout) if (p.wall, p.round) == ("A", 1))
    metal = PieceToDraw(
        wall="A", round=1, piece=0, log_number="M1", from_butt_mm=150, butt_at=ButtAt.START,
        profile=first.profile, filling=Filling.SET,
        hazards=(
            HazardToDraw(kind="metal", from_butt_mm=1150),
            HazardToDraw(kind="rot", from_butt_mm=2000, extent_mm=300, face="top"),
            HazardToDraw(kind="knot", from_butt_mm=20),  # cut off with the end
        ),
    )  # fmt: skip

    root = elevation(stack, [metal], "A")

    diamonds = [
        [float(pair.split(",")[0]) for pair in one.attrib["points"].split()]
        for one in root.iter(f"{SVG}polygon")
        if one.attrib["points"].count(",") == 4 and "data-round" not in one.attrib
    ]
    assert any(sum(xs) / 4 == pytest.approx(at.start_mm + 1000, abs=0.01) for xs in diamonds)
    assert "Metal is charted in log M1" in (root.findtext(f"{SVG}desc") or "")
    assert "knot in log M1" not in "".join(root.itertext())
    assert "rot in log M1" in "".join(root.itertext())


def test_hostile_names_stay_text():
    layout = read_layout(a_rectangle())
    stack, pieces = built(layout, rounds=1)

    root = elevation(stack, pieces, "A", cabin='</title><script>x</script>"\x07&')

    assert not [one for one in root.iter() if one.tag.endswith("script")]
    assert (root.findtext(f"{SVG}title") or "").startswith("</title><script>")


def test_from_where_a_wall_is_seen_follows_from_the_outline():
    layout = read_layout(a_rectangle())
    other = a_rectangle()
    other["corners"] = [{**one, "y_mm": -one["y_mm"]} for one in other["corners"]]
    mirrored = read_layout(other)
    partitioned = read_layout(a_rectangle(partitions=[a_partition()], openings=[]))

    seen = ["".join(elevation(*built(one, rounds=1), "A").itertext()) for one in (layout, mirrored)]
    partition = "".join(elevation(*built(partitioned, rounds=1), "P").itertext())

    assert "seen from outside" in seen[0]
    assert "seen from inside" in seen[1]
    assert "its start at the left" in partition


def test_no_wall_and_no_corner_of_another_name_is_drawn():
    stack, pieces = built(read_layout(a_rectangle()), rounds=1)

    with pytest.raises(BadDrawing, match="no wall Z"):
        elevation(stack, pieces, "Z")
    with pytest.raises(BadDrawing, match="no corner Z"):
        corner(stack, pieces, "Z")
    with pytest.raises(BadDrawing, match="two pieces"):
        elevation(stack, [*pieces, pieces[0]], "A")


def test_a_piece_of_a_log_written_down_shorter_since_is_drawn_as_long_as_its_place():
    layout = read_layout(a_rectangle())
    stack, pieces = built(layout, rounds=1)
    short = profile_of(length_mm=2000, butt_mm=300, middle_mm=290, tip_mm=280)
    first = next(one for one in pieces if one.wall == "A")
    shortened = PieceToDraw(
        wall="A", round=1, piece=0, log_number=first.log_number, from_butt_mm=0, butt_at=ButtAt.START,
        profile=short, filling=Filling.SET,
    )  # fmt: skip

    pointed = [
        [float(pair.split(",")[0]) for pair in node.get("points").split()]
        for root in (elevation(stack, [first], "A"), elevation(stack, [shortened], "A"))
        for node in root.iter()
        if node.get("data-log") == first.log_number and node.get("points")
    ]

    assert len(pointed) == 2
    assert (min(pointed[0]), max(pointed[0])) == pytest.approx((min(pointed[1]), max(pointed[1])))


@pytest.mark.parametrize("name", ["SW", "SE", "P-A"])
def test_a_corners_notches_and_log_ends_are_drawn_at_their_heights(name: str):
    layout = read_layout(a_rectangle(partitions=[a_partition()], openings=[]))
    stack, pieces = built(layout, rounds=3, planned=1)

    root = corner(stack, pieces, name)

    notches = {f"{n.wall}-{n.round}": n for n in stack.notches if n.crossing == name}
    drawn = {one.attrib["data-notch"]: one.attrib for one in root.iter() if "data-notch" in one.attrib}
    assert drawn.keys() == notches.keys()
    for key, notch in notches.items():
        foot, head = float(drawn[key]["y1"]), float(drawn[key]["y2"])
        assert foot - head == pytest.approx(notch.depth_mm, abs=0.01)
    columns = columns_of(layout)
    for one in root.iter(f"{SVG}circle"):
        if "data-round" not in one.attrib:
            continue
        wall, number = one.attrib["data-wall"], int(one.attrib["data-round"])
        at = next(c.column for c in columns[wall] if c.crossing == name)
        assert 2 * float(one.attrib["r"]) == pytest.approx(stack.diameters_mm[wall, number, at], abs=0.01)
        top = -(float(one.attrib["cy"]) - float(one.attrib["r"]))
        assert top == pytest.approx(stack.heights_mm[wall, number, at], abs=0.01)


def test_a_notch_beyond_its_limit_is_called_out():
    layout = read_layout(a_rectangle())
    stack, pieces = built(layout, rounds=1, tops={("B", 1, 0): 560.0, ("A", 1, 1): 250.0})

    found = "".join(corner(stack, pieces, "SE").itertext())

    assert "beyond limit!" in found
    assert "lie beyond the limit" in found


def test_metal_in_a_log_is_marked_at_its_corner_too():
    layout = read_layout(a_rectangle(high_start="raised_deck"))
    stack, pieces = built(layout, rounds=1)
    first = pieces[0]
    marked = PieceToDraw(
        wall=first.wall, round=1, piece=0, log_number="M1", from_butt_mm=150, butt_at=first.butt_at,
        profile=first.profile, filling=Filling.SET, hazards=(HazardToDraw(kind="metal", from_butt_mm=900),),
    )  # fmt: skip

    found = "".join(corner(stack, [marked, *pieces[1:]], "SW").itertext())

    assert "metal: no saw, no chisel" in found


@pytest.mark.parametrize("document", [a_rectangle(), an_l_shape(), a_rectangle(partitions=[a_partition()])])
def test_a_floor_plan_has_every_wall_at_its_length(document: dict[str, Any]):
    layout = read_layout(document)

    root = ET.fromstring(draw_floor_plan("Pond hut", layout, units=MM))

    walls = {one.attrib["data-wall"]: one for one in root.iter() if "data-wall" in one.attrib}
    assert walls.keys() == {wall.id for wall in layout.log_walls}
    for wall in layout.log_walls:
        points = [tuple(map(float, pair.split(","))) for pair in walls[wall.id].attrib["points"].split()]
        xs, ys = [x for x, _ in points], [y for _, y in points]
        sizes = sorted((max(xs) - min(xs), max(ys) - min(ys)))
        assert sizes == pytest.approx([layout.log_middle_mm, wall.log_mm], abs=0.01)
    told = "".join(root.itertext())
    assert all(opening.id in told for opening in layout.openings)


def test_the_names_of_walls_stand_outside_whichever_way_the_outline_runs():
    plain, other = a_rectangle(), a_rectangle()
    other["corners"] = [{**one, "y_mm": -one["y_mm"]} for one in other["corners"]]

    for document in (plain, other):
        root = ET.fromstring(draw_floor_plan("Pond hut", read_layout(document), units=MM))
        names = [one for one in root.iter(f"{SVG}text") if (one.text or "").startswith(("A: ", "C: "))]
        ys = sorted(float(one.attrib["y"]) for one in names)
        walls = [
            float(pair.split(",")[1])
            for one in root.iter()
            if one.get("data-wall") in ("A", "C")
            for pair in one.attrib["points"].split()
        ]
        assert ys[0] < min(walls)
        assert ys[1] > max(walls)


def test_levels_are_drawn_for_every_wall_and_round():
    layout = read_layout(an_l_shape())
    stack, _ = built(layout, rounds=2, tops={("A", 1, 0): 340.0, ("A", 1, 1): 352.0})

    root = ET.fromstring(draw_levels("Pond hut", "as built", stack, units=MM))

    drawn = {
        (one.attrib["data-wall"], int(one.attrib["data-round"])): float(one.attrib["data-level-mm"])
        for one in root.iter()
        if "data-level-mm" in one.attrib
    }
    assert drawn == {(one.wall, one.round): round(one.out_of_level_mm, 1) for one in stack.levels}
    assert "+12 mm" in "".join(root.itertext())


def test_settling_is_drawn_where_the_heights_lie():
    rounds = tuple(
        RoundSettling(wall=wall, round=n, now_mm=330.0 * n, later_low_mm=310.0 * n, later_high_mm=322.0 * n)
        for wall in "AB"
        for n in (1, 2)
    )
    readings = (
        HeightReading(wall="A", round=2, end="start", on=date(2025, 5, 1), height_mm=662),
        HeightReading(wall="A", round=2, end="start", on=date(2025, 9, 1), height_mm=648),
    )
    spaces = (
        SpaceToLeave(opening="door", wall="A", leave_mm=80, low_mm=20, high_mm=120),
        SpaceToLeave(opening="window", wall="B", leave_mm=80, low_mm=20, high_mm=60),
    )
    shown = SettlingToDraw(cabin="Pond hut", rounds=rounds, readings=readings, spaces=spaces, units=MM)

    root = ET.fromstring(draw_settling(shown))

    box = root.find(f".//{SVG}polygon[@data-wall='B'][@data-round='2']")
    assert box is not None
    ys = {-float(pair.split(",")[1]) for pair in box.attrib["points"].split()}
    assert ys == {620.0, 644.0}
    told = ["".join(one.itertext()) for one in root.iter(f"{SVG}text")]
    assert any(one.startswith("door") and one.endswith("leave the larger") for one in told)
    assert any(one.startswith("window") and not one.endswith("larger") for one in told)
    line = root.find(f".//{SVG}polyline")
    assert line is not None
    assert [float(pair.split(",")[1]) for pair in line.attrib["points"].split()] == [-662, -648]


def test_settling_without_readings_shows_what_is_expected():
    rounds = (RoundSettling(wall="A", round=1, now_mm=330, later_low_mm=310, later_high_mm=322),)
    shown = SettlingToDraw(cabin="Pond hut", rounds=rounds, readings=(), spaces=(), units=MM)

    assert "measured on its day" not in draw_settling(shown)

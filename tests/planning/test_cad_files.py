"""DXF by HTTP: opened again by its library and held against the service's own figures."""

import io
import math
from typing import Any

import ezdxf
import pytest
from ezdxf.document import Drawing

from tests.cabins.building import a_layout
from tests.planning.planning_yard import a_hut
from tests.planning.test_drawings import adopted

pytestmark = pytest.mark.django_db(transaction=True)
WINDOW = {
    "id": "W1",
    "kind": "window",
    "wall": "A",
    "offset_mm": 1500,
    "width_mm": 800,
    "sill_mm": 400,
    "head_mm": 800,
}


def opened(someone: Any, address: str) -> Drawing:
    answer = someone.get(address)
    assert answer.status_code == 200, answer.body
    assert answer.headers["Content-Type"] == "image/vnd.dxf"
    assert answer.headers["Content-Disposition"].endswith('.dxf"')
    document = ezdxf.read(io.StringIO(bytes(answer.body).decode("utf-8")))
    assert not document.audit().has_errors
    return document


def log_blocks(document: Drawing) -> dict[tuple[str, int, int], tuple[dict[str, str], list[Any]]]:
    found = {}
    for reference in document.modelspace().query("INSERT"):
        told = {attribute.dxf.tag: attribute.dxf.text for attribute in reference.attribs}
        drawn = [one for one in reference.virtual_entities() if one.dxftype() == "LWPOLYLINE"]
        found[told["WALL"], int(told["ROUND"]), int(told["PIECE"])] = (told, drawn)
    return found


def test_an_elevation_has_the_plans_logs_where_its_pieces_and_heights_say(lead):
    hut, plan = adopted(lead)

    document = opened(lead, f"cabins/{hut}/elevation.dxf?wall=A")

    blocks = log_blocks(document)
    pieces = lead.get(f"plans/{plan}/pieces").body["items"]
    mine = {("A", one["round"], one["piece"]): one for one in pieces if one["wall"] == "A"}
    places = {
        (one["wall"], one["round"], one["piece"]): one
        for one in lead.get(f"cabins/{hut}/places?limit=500").body["items"]
    }
    columns = lead.get(f"cabins/{hut}/layout").body["columns"]
    corners = {one["column"]: one["at_mm"] for one in columns if one["wall"] == "A"}
    heights = lead.get(f"plans/{plan}/heights?cabin={hut}").body
    assert blocks.keys() == mine.keys()
    for key, (told, drawn) in blocks.items():
        assert (told["LOG"], told["FILLING"]) == (mine[key]["log_number"], "reserved")
        points = next(one for one in drawn if one.dxf.layer == "logs").get_points("xy")
        ends = min(x for x, _ in points), max(x for x, _ in points)
        assert ends == pytest.approx((places[key]["start_mm"], places[key]["end_mm"]))
        assert ends[1] - ends[0] == pytest.approx(mine[key]["length_mm"])
        assert told["BUTT_AT"] == mine[key]["butt_at"]
        tops = [one for one in heights["tops"] if (one["wall"], one["round"]) == ("A", key[1])]
        assert len(tops) == len(corners)
        for top in tops:
            at_corner = [y for x, y in points if math.isclose(x, corners[top["column"]], abs_tol=1e-6)]
            assert max(at_corner) == pytest.approx(top["top_mm"], abs=0.01)
        asked = [n for n in heights["notches"] if (n["wall"], n["round"]) == ("A", key[1])]
        notches = [one for one in drawn if one.dxf.layer == "notches"]
        assert len(notches) == len([one for one in asked if one["depth_mm"] > 0])


def test_the_floor_plan_and_an_opening_have_the_layouts_sizes(lead):
    hut = a_hut(lead)
    version = lead.get(f"cabins/{hut}/layout").body["version"]
    document = a_layout(rounds=3, openings=[WINDOW])
    assert lead.put(f"cabins/{hut}/layout", document, version=version).status_code == 200

    plan = opened(lead, f"cabins/{hut}/floor-plan.dxf")
    window = opened(lead, f"cabins/{hut}/opening-drawing.dxf?opening=W1")

    (drawn,) = plan.modelspace().query("LWPOLYLINE[layer=='openings']")
    first, second, *_ = drawn.get_points("xy")
    assert math.dist(first, second) == pytest.approx(WINDOW["width_mm"])
    (sheet,) = lead.get(f"cabins/{hut}/openings").body["openings"]
    boxes = [one.get_points("xy") for one in window.modelspace().query("LWPOLYLINE[layer=='openings']")]
    sizes = [tuple(max(p[n] for p in points) - min(p[n] for p in points) for n in (0, 1)) for points in boxes]
    assert sizes[0] == pytest.approx((sheet["width_mm"], sheet["hole_top_mm"] - sheet["sill_mm"]), abs=0.01)
    assert sizes[1] == pytest.approx((sheet["width_mm"], sheet["height_mm"]))


def test_what_there_is_not_is_told(lead, stranger):
    hut, _ = adopted(lead)

    for address in (f"cabins/{hut}/elevation.dxf?wall=Z", f"cabins/{hut}/opening-drawing.dxf?opening=door"):
        assert lead.get(address).status_code == 404
    assert lead.get(f"cabins/{hut}/elevation.dxf").status_code == 400
    assert stranger.get(f"cabins/{hut}/floor-plan.dxf").status_code == 404

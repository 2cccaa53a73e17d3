"""Whatever is asked of a figure, the answer is one that fits the schema or names what is wrong: never a 500.

JSON as this service writes it has null for NaN and infinity, and every answer is held against the schema,
where no figure may be null that is not said to be.
"""

from collections.abc import Iterator
from decimal import Decimal
from typing import Any
from urllib.parse import quote, urlencode
from uuid import uuid4

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from inventory.yards.models import Species
from planning.plans.models import CurrentPlan
from tests.cabins.building import DOOR, a_cabin, a_layout, a_log, record_set
from tests.people import MORNING
from tests.planning.planning_yard import logs_enough, planned
from tests.schema import schema

EXAMPLES = settings(
    max_examples=50, deadline=None, suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much]
)
ODD = [
    "", " ", "nan", "-nan", "inf", "-inf", "Infinity", "1e308", "1e309", "-1e308", "1e-320", "-0", "0", "-1",
    "9" * 60,
    "1_0", "0x10", "٣", "½", "11 5/8 in", "19' 4\"", "5,89 m", "1/0 in", "1/3 in", "1e3 mm", "900 m",
    "1001 m",
    "true", "null", "None", "[]", "\u0000", "A:2500", "A:nan", "Z:1", ":", ",", "2400,2100", "1,nan",
]  # fmt: skip
TEXTS = (
    st.sampled_from(ODD)
    | st.floats().map(repr)
    | st.integers(min_value=-(10**12), max_value=10**12).map(str)
    | st.floats(min_value=0, max_value=100).map(lambda number: f"{number:.3f}")
    | st.text(st.characters(exclude_categories=["Cs"]), max_size=12)
)


def queries(path: str, *, usual: dict[str, Any] | None = None) -> st.SearchStrategy[dict[str, str]]:
    """Queries of an address of the schema: some of its parameters with right values, some with any text."""
    operation = schema()["paths"][f"/api/v1/{path}"]["get"]
    named = {one["name"]: one["schema"] for one in operation["parameters"] if one["in"] == "query"}
    assert named, path
    any_value = {name: TEXTS | _right(of) for name, of in named.items()}
    right = {name: str(value) for name, value in (usual or {}).items()}
    odd = st.lists(st.sampled_from(sorted(named)), max_size=4, unique=True).flatmap(
        lambda names: st.fixed_dictionaries({name: any_value[name] for name in names})
    )
    return odd.map(lambda asked: right | asked)


def _right(of: dict[str, Any]) -> st.SearchStrategy[str]:
    return st.sampled_from(of["enum"]) if "enum" in of else st.integers(min_value=0, max_value=90).map(str)


def try_all(asker: Any, address: str, asked: st.SearchStrategy[dict[str, str]]) -> set[int]:
    """Ask with every query; the statuses that came. Each answer is held against the schema by the asker."""
    seen: set[int] = set()

    @EXAMPLES
    @given(asked=asked)
    def ask(asked: dict[str, str]) -> None:
        answer = asker.get(f"{address}?{urlencode(asked)}")

        assert answer.status_code in (200, 400, 404), (asked, answer.body)
        if answer.status_code == 400:
            assert answer.body["errors"] or answer.body["detail"], asked
            assert all(one["pointer"].startswith("?") for one in answer.body["errors"]), asked
        seen.add(answer.status_code)

    ask()
    return seen


@pytest.fixture(autouse=True)
def _any_number_of_requests(settings: Any) -> None:
    settings.REQUESTS_PER_MINUTE = 1_000_000


@pytest.fixture
def wood(builder: Any) -> Species:
    return Species.objects.create(
        crew=builder.who.crew, name="Hill pine", basic_gravity="0.4", shrink_radial_pct="4.0",
        shrink_tangential_pct="7.0", moisture_heart_pct="40", moisture_sap_pct="120", source="invented",
        created_at=MORNING, changed_at=MORNING,
    )  # fmt: skip


@pytest.fixture
def log(builder: Any, wood: Species) -> Any:
    twisted = {"grain_hand": "left", "grain_slope": Decimal(15), "crook_mm": 20, "crook_at_mm": 1500}
    metal = {"kind": "metal", "from_butt_mm": 900, "face": None, "extent_mm": 40}
    log = a_log(builder.who.crew, crown_mm=40, hazards=[metal], **twisted)
    log.species = wood
    log.save(update_fields=["species"])
    return log


@pytest.fixture(params=["chinked saddle", "scribed dovetail"])
def cabin(request: Any, builder: Any, log: Any) -> str:
    """A cabin with a door and one log set."""
    scribed = {"gap": {"smallest_mm": -30, "target_mm": -20, "largest_mm": -5}, "notch": "full_dovetail"}
    changed = scribed if "scribed" in request.param else {}
    address = a_cabin(builder, layout=a_layout(openings=[DOOR], **changed))
    record_set(builder, address, a_log(builder.who.crew), wall="B")
    return address


def test_a_logs_figures_stand_any_question(learner, log):
    assert try_all(learner, f"logs/{log.id}/figures", queries("logs/{id}/figures")) == {200, 400}


def test_a_pieces_figures_stand_any_question(learner, log):
    right = {"from_butt_mm": 300, "length_mm": 2000}

    assert try_all(learner, f"logs/{log.id}/piece", queries("logs/{id}/piece", usual=right)) == {200, 400}


def test_moisture_of_air_and_shrinkage_stand_any_question(learner, wood):
    air = {"temperature_c": 20, "humidity_pct": 50}

    assert try_all(learner, "figures/moisture", queries("figures/moisture", usual=air)) == {200, 400}
    asked = queries("species/{id}/shrinkage", usual={"dimension_mm": 300})
    assert try_all(learner, f"species/{wood.id}/shrinkage", asked) == {200, 400}


def test_settling_stands_any_question(learner, cabin, wood):
    asked = queries("cabins/{id}/settling", usual={"species": wood.id})

    assert try_all(learner, f"{cabin}/settling", asked) >= {200, 400}


def test_a_corner_stands_any_question(learner, cabin):
    assert try_all(learner, f"{cabin}/corners/2", queries("cabins/{id}/corners/{corner}")) == {200, 400}
    for corner in (" ", "nan", "9" * 300, "\u0000", "2/2", "٣"):
        assert learner.get(f"{cabin}/corners/{quote(corner, safe='')}").status_code == 404


def test_a_log_tried_in_a_place_stands_any_question(learner, cabin, log):
    right = {"wall": "B", "round": 2, "log": log.id, "from_butt_mm": 60}

    assert try_all(learner, f"{cabin}/sheet", queries("cabins/{id}/sheet", usual=right)) >= {200, 400}


@pytest.fixture
def hut(transactional_db: None, lead: Any) -> Iterator[str]:
    """A cabin whose plan is adopted."""
    hut = a_cabin(lead, layout=a_layout(rounds=3)).split("/")[1]
    job = planned(lead, [hut], [logs_enough(lead)[0].yard_id])
    assert lead.post(f"plans/{job['plan_id']}/adopt").status_code == 200
    yield hut


def test_a_plans_sheets_stand_any_question(hut, lead):
    plan = CurrentPlan.objects.get(cabin=hut).plan_id

    for path in ("cabins/{id}/setting-sheet", "cabins/{id}/next-log"):
        address = path.replace("{id}", hut)
        assert try_all(lead, address, queries(path, usual={"round": 1} if "setting" in path else {})) >= {
            200,
            400,
        }
    for path in ("plans/{id}/setting-sheet", "plans/{id}/heights"):
        usual = {"cabin": hut, **({"round": 1} if "setting" in path else {})}
        assert try_all(lead, path.replace("{id}", str(plan)), queries(path, usual=usual)) >= {200, 400}


WOOD = {"name": "no wood", "basic_gravity": 0.4}


@pytest.mark.parametrize(
    "wrong",
    [
        {"basic_gravity": 1.6},
        {"basic_gravity": 0},
        {"basic_gravity": -0.4},
        {"basic_gravity": "nan"},
        {"basic_gravity": "inf"},
        {"moisture_heart_pct": -1},
        {"moisture_sap_pct": 900},
        {"moisture_sap_pct": "NaN"},
        {"shrink_radial_pct": -2},
        {"shrink_tangential_pct": 40},
        {"fibre_saturation_pct": 0},
        {"fibre_saturation_pct": 90},
        {"green_density_kg_m3": -5},
        {"green_density_kg_m3": 9000},
    ],
)
def test_impossible_wood_is_not_stored(lead, wrong):
    answer = lead.put(f"species/{uuid4()}", WOOD | wrong)

    assert answer.status_code == 422, answer.body
    assert answer.body["errors"]
    assert not Species.objects.filter(name="no wood").exists()


@pytest.mark.parametrize(
    "wrong",
    [
        {"length_mm": 0},
        {"length_mm": -5},
        {"length_mm": "nan m"},
        {"length_mm": 1e300},
        {"butt_mm": 0},
        {"middle_mm": "wide"},
        {"tip_mm": 1e-9},
        {"station_inset_mm": 4000},
        {"further_stations": [{"from_butt_mm": 9000, "diameter_mm": 300}]},
        {"further_stations": [{"from_butt_mm": 3000, "diameter_mm": 300}]},
        {"further_stations": [{"from_butt_mm": 1000, "diameter_mm": 0}]},
        {"crook_at_mm": 90_000, "crook_mm": 5},
        {"grain_hand": "left", "grain_slope": 0.2},
        {"sawn_thickness_mm": 0, "sawn_face_height_mm": 200},
    ],
)
def test_an_impossible_log_is_not_stored(lead, wrong):
    yard = lead.put(f"yards/{uuid4()}", {"name": "Lower yard"}).body["id"]
    log = {"yard": yard, "number": "1", "length_mm": 6000, "butt_mm": 340, "middle_mm": 310, "tip_mm": 290}

    answer = lead.put(f"logs/{uuid4()}", log | wrong)

    assert answer.status_code in (409, 422), answer.body
    assert answer.body["errors"]
    assert lead.get("logs").body["items"] == []

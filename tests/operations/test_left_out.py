"""A PUT that leaves fields out, as a client of an earlier version does, makes nothing forgotten.

Generated from the schema file: a new optional field that is no plain text fails here until a value stands for
it below.
"""

from typing import Any

import pytest

from tests.operation_ids import Operation, operations
from tests.operations.asking import asked, one_of
from tests.operations.prerequisites import made_ready
from tests.operations.test_writes import held_now
from tests.operations.world import World
from tests.schema import schema

# Asked with each request and not kept.
NOT_KEPT = {"confirm_doubtful"}
# What is made once and never changed by a PUT.
MADE_ONCE = {"found_crew", "make_key", "propose_change"}
# What was done is not changed later: of these fields only that they stay as they are is asked.
STAND = {
    "install_member": {"installed_by", "metal_removed"},
    "prepare_piece": {"cabin", "wall", "round", "piece", "member", "metal_removed", "prepared_by"},
    "put_height": {"measured_by"},
    "set_log": {
        "set_by", "checked_by", "gap_mm", "notch_start_mm", "notch_end_mm", "metal_removed",
    },
}  # fmt: skip
PLAIN = "Q 17"
REMARKS = {"remarks": "Dry by June."}
TRUCK = {"expected_on": "2031-06-03", **REMARKS}
# A value that is not the default for every other optional field.
VALUES: dict[str, dict[str, Any]] = {
    "announce_delivery": TRUCK,
    "install_member": REMARKS,
    "prepare_piece": {"marks": ["sawn", "peeled"], **REMARKS},
    "put_cabin": REMARKS,
    "put_delivery": TRUCK,
    "put_height": REMARKS,
    "put_log": {
        "rack": "rack", "species": "species", "station_inset_mm": 300,
        "further_stations": [{"from_butt_mm": 1500, "diameter_mm": 318.5}],
        "read_across": [{"station": "middle", "first_mm": 310, "across_mm": 299, "difference_mm": 11}],
        "crown_mm": 12.5, "crown_side": "left", "crown_at_mm": 2800, "crook_mm": 6, "crook_at_mm": 2000,
        "grain_hand": "right", "grain_slope": 24.5,
        "hazards": [{"kind": "knot", "from_butt_mm": 900.5, "face": "top", "extent_mm": 40}],
        "sawn_face_height_mm": 300, "sawn_thickness_mm": 180.25, "mill_tag": "Q 17", "peeled": False,
        "seasoning": "dry", "felled_on": "2031-02-01", "culled": True, "cull_reason": "Soft tip.",
        "charted_by": "Wren", "charted_on": "2031-05-02", **REMARKS,
    },
    "put_mill": {
        "contact": "Office at the gate.", "cubic_rule": "smalian", "trim_mm": 101.6, "length_step_ft": 2,
        "longest_ft": 18, "taper_mm_per_m": 9.5,
    },
    "put_order": {"wanted_on": "2031-07-01", **REMARKS},
    "put_rack": REMARKS,
    "put_species": {
        "moisture_heart_pct": 33.5, "moisture_sap_pct": 110.5, "shrink_radial_pct": 3.81,
        "shrink_tangential_pct": 7.12, "fibre_saturation_pct": 28.5, "sapwood_mm": 31.5,
        "change_radial": 0.00133, "change_tangential": 0.00264, "green_density_kg_m3": 690.5,
        "source": "Our own scale.",
    },
    "set_log": REMARKS,
    "put_yard": REMARKS,
}  # fmt: skip


def fields_of(one: Operation) -> tuple[set[str], set[str]]:
    """The fields of the operation's body that must be sent, and those that need not be."""
    content = one.told.get("requestBody", {}).get("content", {}).get("application/json", {})
    told = schema()["components"]["schemas"][content["schema"]["$ref"].rsplit("/", 1)[-1]] if content else {}
    required = set(told.get("required", ()))
    return required, set(told.get("properties", ())) - required - NOT_KEPT


PUTS = [
    one
    for one in operations()
    if one.method == "PUT" and fields_of(one)[1] and one.name not in MADE_ONCE | {"lay_out_cabin"}
]


def takes_any_text(one: Operation, name: str) -> bool:
    """Whether the field of a body is a text without a form of its own."""
    content = one.told["requestBody"]["content"]["application/json"]["schema"]["$ref"].rsplit("/", 1)[-1]
    return set(schema()["components"]["schemas"][content]["properties"][name]) <= {
        "type", "default", "maxLength", "description",
    } and schema()["components"]["schemas"][content]["properties"][name].get("type") == "string"  # fmt: skip


def kept_of(row: dict[str, Any], names: set[str]) -> dict[str, Any]:
    return {name: row[name] for name in names}


@pytest.mark.parametrize("one", PUTS, ids=[one.name for one in PUTS])
def test_a_put_that_leaves_fields_out_keeps_what_is_stored(alone: World, one: Operation):
    who, (path, sent) = alone.asker(one), made_ready(alone, one)
    required, optional = fields_of(one)
    stand = STAND.get(one.name, set())
    given = {name: PLAIN for name in optional - stand if takes_any_text(one, name)} | VALUES[one.name]
    values = {
        name: one_of(alone.own, value) if value in ("rack", "species") else value
        for name, value in given.items()
    }
    assert set(values) == optional - stand, "every optional field needs a value above"
    before = held_now(who, path).body
    least = {name: before.get(name, sent.get(name)) for name in required}

    stands = kept_of(before, stand)
    all_of_it = asked(
        who, one, path, {**least, **stands, **values, **_confirmed(one)}, version=before["version"]
    )
    assert all_of_it.status_code == 200, all_of_it.body
    whole = held_now(who, path).body
    left_out = asked(who, one, path, {**least, **_confirmed(one)}, version=whole["version"])

    assert left_out.status_code == 200, left_out.body
    assert kept_of(whole, set(values)) == values
    assert held_now(who, path).body == whole


def _confirmed(one: Operation) -> dict[str, bool]:
    content = one.told["requestBody"]["content"]["application/json"]["schema"]["$ref"].rsplit("/", 1)[-1]
    has = "confirm_doubtful" in schema()["components"]["schemas"][content]["properties"]
    return {"confirm_doubtful": True} if has else {}

"""Settling against what is published of log walls and of lumber, and the copied allowances again."""

from cabins.core.settling import predict_settling, shrinkage_share
from cabins.core.settling_rules import RULES, SettlingAllowance, SettlingMember, allowance_for
from inventory.core.moisture import shrinkage
from inventory.core.wood import SpeciesFigures, seed_named
from tests.outside.registry import Compared, against, against_percent, outside_check, rows_of

INCH_MM = 25.4
# Where the bulletin gives no height: windows from 40 to 60 in and storeys of 96 in are assumed.
HEIGHTS_IN = {"mp579_door": (80.0, 84.0), "mp579_window": (40.0, 60.0), "mp579_post": (96.0, 96.0)}
MEMBERS = {
    "mp579_door": SettlingMember.DOOR,
    "mp579_window": SettlingMember.WINDOW,
    "mp579_post": SettlingMember.POST,
}


def wood(name: str) -> SpeciesFigures:
    """A listed species."""
    species = seed_named(name)
    assert species, name
    return species


@outside_check(
    what="The most that a green scribed wall of 9 ft comes down, Douglas-fir and lodgepole pine: up to 6 in, "
    "or 6 % of its height, as builders allow",
    source="a log builder's drafting office, streamlinedesign.ca",
    mark="seen",
    kind="printed",
    unit="%",
    limit=13,
)
def most_of_a_green_wall() -> list[Compared]:
    """The top of our prediction, which is what must not exceed the space that is left."""
    compared = []
    for row in (row for row in rows_of("settling.csv") if row["id"].startswith("green_scribed")):
        for name in ("Douglas-fir coast", "lodgepole pine"):
            height = float(row["from_height_in"])
            ours = predict_settling(
                height_mm=height * INCH_MM, share=shrinkage_share(wood(name)), is_scribed=True
            )
            label = f"{name}, {row['high']} {row['unit']}"
            per = INCH_MM if row["unit"] == "in" else height * INCH_MM / 100
            compared.append(against_percent(label, ours=ours.high_mm / per, theirs=float(row["high"])))
    return compared


@outside_check(
    what="Shrinkage of coast Douglas-fir from green to 8 to 19 %, mean of radial and tangential, against "
    "that of the width of lumber, 6.031 - 0.215 M",
    source="Green, Moisture Content and the Shrinkage of Lumber, FPL-RP-489",
    mark="seen",
    kind="worked",
    unit="%",
    limit=5,
)
def shrinkage_of_lumber() -> list[Compared]:
    """An equation from the lumber standard's own shrinkage (PS 20-70), which knows nothing of ours."""
    compared = []
    for moisture in range(8, 20):
        lost = shrinkage(wood("Douglas-fir coast"), dimension_mm=100.0, to_moisture_pct=moisture)
        ours = (lost.radial_mm + lost.tangential_mm) / 2
        theirs = 6.031 - 0.215 * moisture
        compared.append(against_percent(f"to {moisture} %", ours=ours, theirs=theirs))
    return compared


@outside_check(
    what="Settling allowances of the bulletin's doors, windows and posts, and of laminated logs",
    source="USDA Misc. Pub. 579; a Finnish article quoting a structural engineer",
    mark="seen",
    kind="same table",
    unit="as given",
    limit=0.001,
)
def published_allowances() -> list[Compared]:
    """Our rule gives the published spaces, at the lowest and the highest door they are published for."""
    compared = []
    for row in (row for row in rows_of("settling.csv") if row["id"] in MEMBERS):
        for height_in in HEIGHTS_IN[row["id"]]:
            ours = _allowance(MEMBERS[row["id"]], height_in, "mp579")
            for side, mm in (("low", ours.low_mm), ("high", ours.high_mm)):
                label = f"{row['id']} {height_in:g} in, {side}"
                compared.append(against(label, ours=mm / INCH_MM, theirs=float(row[side])))
    (row,) = (row for row in rows_of("settling.csv") if row["id"] == "fi_laminated")
    ours = allowance_for(member=SettlingMember.POST, height_mm=1000, rule=RULES["fi_laminated"])
    compared.append(against("laminated, low", ours=ours.low_mm, theirs=float(row["low"])))
    compared.append(against("laminated, high", ours=ours.high_mm, theirs=float(row["high"])))
    return compared


def _allowance(member: SettlingMember, height_in: float, rule: str) -> SettlingAllowance:
    return allowance_for(member=member, height_mm=height_in * INCH_MM, rule=RULES[rule])

"""Settling against published allowances: what our rules give, and what we predict."""

from cabins.core.settling import Prediction, predict_settling, shrinkage_share
from cabins.core.settling_rules import RULES, Allowance, Member, allowance_for
from inventory.core.wood import seed_species
from tests.outside.registry import Compared, against, outside_check, rows_of, within

INCH_MM = 25.4
# Where the bulletin gives no height: windows from 40 to 60 in and storeys of 96 in are assumed.
HEIGHTS_IN = {"mp579_door": (80.0, 84.0), "mp579_window": (40.0, 60.0), "mp579_post": (96.0, 96.0)}
MEMBERS = {"mp579_door": Member.DOOR, "mp579_window": Member.WINDOW, "mp579_post": Member.POST}


def predicted(height_in: float, is_scribed: bool) -> Prediction:
    """What green coast Douglas-fir is expected to lose over a height."""
    fir = next(species for species in seed_species() if species.name == "Douglas-fir coast")
    return predict_settling(height_mm=height_in * INCH_MM, share=shrinkage_share(fir), is_scribed=is_scribed)


@outside_check(
    what="Settling allowances of the bulletin's doors, windows and posts",
    source="USDA Misc. Pub. 579",
    mark="seen",
    unit="in",
    limit=0.001,
)
def bulletin_allowances() -> list[Compared]:
    """Our rule gives the published spaces, at the lowest and the highest door they are published for."""
    compared = []
    for row in (row for row in rows_of("settling.csv") if row["id"] in MEMBERS):
        for height_in in HEIGHTS_IN[row["id"]]:
            ours = _allowance(MEMBERS[row["id"]], height_in, "mp579")
            for side, mm in (("low", ours.low_mm), ("high", ours.high_mm)):
                label = f"{row['id']} {height_in:g} in, {side}"
                compared.append(against(label, ours=mm / INCH_MM, theirs=float(row[side])))
    return compared


@outside_check(
    what="Settling allowance for laminated squared logs",
    source="a Finnish article quoting a structural engineer",
    mark="seen",
    unit="mm per m",
    limit=0.001,
)
def laminated_allowance() -> list[Compared]:
    """Twenty millimetres in a metre."""
    (row,) = (row for row in rows_of("settling.csv") if row["id"] == "fi_laminated")
    ours = allowance_for(member=Member.POST, height_mm=1000, rule=RULES["fi_laminated"])
    return [
        against("low", ours=ours.low_mm, theirs=float(row["low"])),
        against("high", ours=ours.high_mm, theirs=float(row["high"])),
    ]


@outside_check(
    what="The bulletin's clearances lie within what is predicted for green coast Douglas-fir, scribed "
    "or chinked (windows of 40 to 60 in "
    "and storeys of 96 in assumed)",
    source="USDA Misc. Pub. 579",
    mark="seen",
    unit="in",
    limit=0.0,
)
def bulletin_within_predictions() -> list[Compared]:
    """No published space is smaller than the least, or larger than the most, that our settings predict."""
    compared = []
    for row in (row for row in rows_of("settling.csv") if row["id"] in MEMBERS):
        for is_scribed in (True, False):
            expected = [predicted(height, is_scribed) for height in HEIGHTS_IN[row["id"]]]
            low = min(each.low_mm for each in expected) / INCH_MM
            high = max(each.high_mm for each in expected) / INCH_MM
            for side in ("low", "high"):
                label = f"{row['id']} {side}, {'scribed' if is_scribed else 'chinked'}"
                compared.append(within(label, value=float(row[side]), low=low, high=high))
    return compared


def _allowance(member: Member, height_in: float, rule: str) -> Allowance:
    return allowance_for(member=member, height_mm=height_in * INCH_MM, rule=RULES[rule])

"""What a take-off says beside its figures: the rules it rests on, how sure it is, what to beware of."""

from cabins.core.sources import PRACTICE
from inventory.core.basis import Basis
from inventory.core.crew_units import Sentence
from planning.core.problem_builder import USUAL_PARAMS
from planning.core.takeoff.take_off import Choices, TakeOff

ADVISED_SPARE_ROUNDS = 2


def bases_of(choices: Choices) -> tuple[Basis, ...]:
    """Every rule the figures follow, with its source."""
    practice = str(PRACTICE)
    return (
        Basis(
            rule=Sentence(
                "bottom third of the rounds {step:across} thicker, top third {step:across} thinner than the "
                "layout's middle diameter, each class {step:across} wide",
                step=choices.middle_step_mm,
            ),
            source=practice,
            assumption="a class's middles average its centre, so that the wall rises as laid out",
        ),
        Basis(
            rule=Sentence(
                "a log gives at most {most} pieces with {trim:across} trim at each end and {kerf:across} "
                "kerf; "
                "its length is rounded up to a multiple of {step:along}",
                most=choices.planned.most_pieces,
                trim=choices.trim_each_end_mm,
                kerf=choices.planned.kerf_mm,
                step=choices.class_step_mm,
            ),
            source=practice,
            assumption="only pieces beside openings share logs, within one cabin and one middle class; "
            "one log ripped lengthwise gives two half logs",
        ),
        _spare_basis(choices),
        Basis(
            rule="each needed log covered by at most one free log that is long enough and whose middle "
            "diameter lies in the class; as many as possible, needs before spare and long before short, then "
            "with the least length left over",
            source="assignment by shortest augmenting paths (textbook method)",
            assumption=Sentence(
                "logs as charted; of a log with metal its longest stretch {clear:across} clear of it; culled "
                "logs and logs put aside left out",
                clear=choices.planned.hazard_clear_mm,
            ),
        ),
    )


def _spare_basis(choices: Choices) -> Basis:
    if choices.spare_percent is not None:
        rule = f"{choices.spare_percent:g} percent of all logs as spare, rounded up once, shared out by class"
        assumption = "what is lost is like what is needed"
    else:
        rule = (
            f"{choices.spare_rounds} spare round(s): in each a full-length log for every wall, the first "
            "round in the usual middle class, the second in the thick one, the third in the thin one"
        )
        assumption = "a full-length log can stand in for any shorter one; members have no spare"
    return Basis(rule=rule, source=str(PRACTICE), assumption=assumption)


def advice_of(choices: Choices) -> tuple[str, ...]:
    """Sentences about the spare logs."""
    if choices.spare_percent is not None:
        return ("Two rounds to spare are better than a percentage: logs run short in full lengths first.",)
    if (choices.spare_rounds or 0) >= ADVISED_SPARE_ROUNDS:
        return ()
    had = "One round" if choices.spare_rounds == 1 else "No round"
    return (f"{had} to spare is counted; two are better, as a season is lost for three logs.",)


def uncertainty_of(found: TakeOff, choices: Choices) -> str:
    """How far the counts may be off, in words."""
    ranges = ", ".join(
        f"{c.cabin} {c.rounds_if_thick} to {c.rounds_if_thin} rounds (laid out: {c.rounds})"
        for c in found.cabins
    )
    text = (
        Sentence(
            "If the middles run {half:across} over or under the layout's, the wall heights take: {ranges}. ",
            half=choices.middle_step_mm / 2,
            ranges=ranges,
        )
        if ranges
        else ""
    )
    return Sentence(
        "{text}Diameters are read to {low:error} to {high:error}, so a log near the edge of its class may "
        "fall "
        "into the next. The cutting is good, not proven best: a plan may need a log less.",
        text=text,
        low=3,
        high=6,
    )


def cautions_of(found: TakeOff, choices: Choices) -> tuple[str, ...]:
    """What to beware of with these figures."""
    cautions = [
        "The take-off counts logs; it does not size members or judge a structure: local code and licensed "
        "practice decide what a plate, joist, purlin, ridge or post must be.",
        "Straight and sound logs are assumed: knots, crooks and rot are met by the spare logs and judged in "
        "the plan.",
    ]
    if choices.trim_each_end_mm < choices.planned.trim_each_end_mm:
        cautions.append(
            Sentence(
                "A plan trims {planned:across} at each end; logs counted with {counted:across} may be too "
                "short for it.",
                planned=choices.planned.trim_each_end_mm,
                counted=choices.trim_each_end_mm,
            )
        )
    if found.bowed:
        cautions.append(
            Sentence(
                "{bowed} of the yards' logs counted here bow more than their piece should ({ends:across} in "
                "the first and last round, {other:across} elsewhere; a cabin's members as its layout says).",
                bowed=found.bowed,
                ends=USUAL_PARAMS.crown_limit_sill_plate_mm,
                other=USUAL_PARAMS.crown_limit_other_mm,
            )
        )
    filled = sum(cabin.places_filled for cabin in found.cabins)
    if filled:
        cautions.append(
            f"{filled} places are filled already and not counted; what is left of logs cut up for them is "
            "not counted either."
        )
    given = sum(cabin.members_installed for cabin in found.cabins)
    if given:
        cautions.append(f"{given} members are made already and not counted, nor what is left of their logs.")
    return tuple(cautions)

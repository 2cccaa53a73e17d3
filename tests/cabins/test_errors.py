"""How far a crew's readings and cuts may be off: default, choice, and what its own walls tell."""

from decimal import Decimal

import pytest

from cabins.cabins.models import Cabin
from cabins.choices.errors import errors_used
from cabins.heights.models import MeasuredHeight
from cabins.walls.queries import standing_of, wall_stack
from inventory.core.crew_errors import LEAST_TOPS, USUAL_ERRORS, usual_miss_mm
from planning.jobs.tasks import errors_of_request
from tests.cabins.building import NOON, a_cabin, id_of, set_round
from tests.cabins.test_heights import a_line

WALLS = "wall-settings"


def held(cabin):
    return Cabin.objects.get(id=id_of(cabin))


def the_record_holds(crew, member, cabin, *, tops, times):
    """So many tops of a cabin, each so many usual errors off what was computed for it."""
    off = Decimal(repr(times * usual_miss_mm(rounds_since=1))).quantize(Decimal("0.00001"))
    MeasuredHeight.objects.bulk_create(
        MeasuredHeight(
            crew=crew, cabin=held(cabin), wall="A", round=1, end="start", height_mm=Decimal(330) + off,
            computed_mm=Decimal(330), rounds_since=1, measured_at=NOON, measured_by=member,
            recorded_by=member, created_at=NOON, changed_at=NOON,
        )
        for _ in range(tops)
    )  # fmt: skip


def test_before_anything_is_known_the_usual_errors_count_and_say_so(learner):
    told = learner.get(WALLS).body

    assert (told["diameter_error_mm"], told["height_error_mm"], told["cut_error_mm"]) == (4, 2.5, 3)
    assert set(told["measuring"]["chosen_by"].values()) == {"default"}
    assert (told["measuring"]["measured_tops"], told["measuring"]["tops_needed"]) == (0, 30)
    assert "common practice" in told["measuring"]["words"]


def test_what_the_crew_chose_feeds_sheets_and_planner_alike(lead):
    cabin = a_cabin(lead)
    set_round(lead, cabin, 1)

    lead.patch(WALLS, {"diameter_error_mm": "1/4 in", "height_error_mm": 1}, version=0)

    errors = errors_used(lead.who.crew.id)
    [top] = [t for t in wall_stack(held(cabin)).tops if (t.wall, t.round, t.column) == ("A", 1, 0)]
    assert (errors.errors.diameter_mm, errors.errors.height_mm, errors.errors.cut_mm) == (6.35, 1, 3)
    assert errors.chosen_by["diameter_error_mm"] == "crew" and errors.chosen_by["cut_error_mm"] == "default"
    assert top.error_mm == pytest.approx((1 + 6.35**2 + 3**2) ** 0.5)
    assert errors_of_request(lead.who.crew.id) == {"diameter_mm": 6.35, "top_mm": 1, "cut_mm": 3}


@pytest.mark.parametrize("wrong", [0, -1, 51, "a lot"])
def test_an_error_that_none_could_have_is_refused(lead, wrong):
    refused = lead.patch(WALLS, {"cut_error_mm": wrong}, version=0)

    assert (refused.status_code, refused.body["errors"][0]["pointer"]) == (422, "/cut_error_mm")


def test_a_measured_top_is_kept_beside_what_was_computed_for_it(builder):
    cabin = a_cabin(builder)
    set_round(builder, cabin, 1)
    [computed] = [t for t in wall_stack(held(cabin)).tops if (t.wall, t.round, t.column) == ("A", 1, 0)]

    answer = builder.post(
        f"{cabin}/heights", {"heights": [{"id": str(id_of(cabin)), **a_line(computed.top_mm + 6)}]}
    )

    row = MeasuredHeight.objects.get()
    assert answer.status_code == 201
    assert (float(row.computed_mm), row.rounds_since) == (pytest.approx(computed.top_mm, abs=1e-4), 1)
    assert errors_used(builder.who.crew.id).record.squares == pytest.approx(
        (6 / usual_miss_mm(rounds_since=1)) ** 2
    )


def test_from_thirty_tops_on_the_crews_own_record_counts_and_says_so(lead, learner):
    crew, cabin = lead.who.crew, a_cabin(lead)
    the_record_holds(crew, lead.who.member, cabin, tops=LEAST_TOPS - 1, times=2)
    before = learner.get(WALLS).body
    the_record_holds(crew, lead.who.member, cabin, tops=1, times=2)

    told = learner.get(WALLS).body

    assert before["diameter_error_mm"] == USUAL_ERRORS.diameter_mm
    assert told["diameter_error_mm"] == pytest.approx(2 * USUAL_ERRORS.diameter_mm, rel=1e-4)
    assert set(told["measuring"]["chosen_by"].values()) == {"record"}
    assert told["measuring"]["times_usual"] == pytest.approx(2, rel=1e-4)
    assert "own record of 30 tops" in told["measuring"]["words"]
    errors = standing_of([held(cabin)])[held(cabin).id].errors.errors
    assert errors.cut_mm == pytest.approx(2 * USUAL_ERRORS.cut_mm, rel=1e-4)


def test_a_choice_stands_before_the_record_and_a_stranger_has_none_of_it(lead, stranger):
    the_record_holds(lead.who.crew, lead.who.member, a_cabin(lead), tops=LEAST_TOPS, times=2)
    lead.patch(WALLS, {"diameter_error_mm": 5}, version=0)

    ours, theirs = lead.get(WALLS).body, stranger.get(WALLS).body

    assert ours["diameter_error_mm"] == 5 and ours["measuring"]["chosen_by"]["height_error_mm"] == "record"
    assert (theirs["measuring"]["measured_tops"], theirs["diameter_error_mm"]) == (0, 4)


def the_tops_were_read_again(crew, member, cabin, *, readings, off_mm):
    """So many readings, each so far off those before it as one reading of that error would be."""
    MeasuredHeight.objects.bulk_create(
        MeasuredHeight(
            crew=crew, cabin=held(cabin), wall="A", round=1, end="start", height_mm=Decimal(330),
            repeat_mm=Decimal(off_mm), measured_at=NOON, measured_by=member, recorded_by=member,
            created_at=NOON, changed_at=NOON,
        )
        for _ in range(readings)
    )  # fmt: skip


def test_a_crew_that_says_how_it_reads_tops_gets_that_ways_error_with_its_mark(lead):
    lead.patch(WALLS, {"top_reading": "level"}, version=0)

    told = lead.get(WALLS).body

    assert (told["top_reading"], told["height_error_mm"], told["diameter_error_mm"]) == ("level", 1, 4)
    assert told["measuring"]["chosen_by"]["height_error_mm"] == "way"
    assert "a builder's level and a staff, common practice, no source" in told["measuring"]["words"]
    assert [(way["top_reading"], way["error_mm"]) for way in told["measuring"]["ways"]] == [
        ("tape", 2.5), ("storey_pole", 2), ("level", 1),
    ]  # fmt: skip
    assert lead.patch(WALLS, {"top_reading": "by eye"}, version=1).status_code == 422


def test_thirty_tops_read_again_replace_the_ways_error_but_not_a_figure_of_the_crews_own(lead):
    crew, member, cabin = lead.who.crew, lead.who.member, a_cabin(lead)
    lead.patch(WALLS, {"top_reading": "tape"}, version=0)
    the_tops_were_read_again(crew, member, cabin, readings=LEAST_TOPS - 1, off_mm=4)
    before = lead.get(WALLS).body
    the_tops_were_read_again(crew, member, cabin, readings=1, off_mm=4)
    after = lead.get(WALLS).body
    lead.patch(WALLS, {"height_error_mm": 3}, version=after["version"])
    chosen = lead.get(WALLS).body

    assert (before["height_error_mm"], before["measuring"]["tops_read_again"]) == (2.5, 29)
    assert (after["height_error_mm"], after["measuring"]["chosen_by"]["height_error_mm"]) == (4, "record")
    assert "own record of 30 tops read again" in after["measuring"]["words"]
    assert (chosen["height_error_mm"], chosen["measuring"]["chosen_by"]["height_error_mm"]) == (3, "crew")


def test_a_second_reading_is_kept_beside_the_first_and_counts_for_no_computed_top(builder):
    cabin = a_cabin(builder)
    set_round(builder, cabin, 1)
    for n, height in enumerate((350, 353)):
        at = NOON.replace(hour=NOON.hour + 1 + n).isoformat()
        line = {"id": f"{n}0000000-0000-4000-8000-000000000000", **a_line(height), "measured_at": at}
        builder.post(f"{cabin}/heights", {"heights": [line]})

    first, second = MeasuredHeight.objects.order_by("measured_at")
    used = errors_used(builder.who.crew.id)
    # Two readings 3 mm apart, each of one error: 3 / sqrt(2).
    assert (first.repeat_mm, second.computed_mm) == (None, None)
    assert float(second.repeat_mm) == pytest.approx(3 / 2**0.5, abs=1e-4)
    assert (used.record.tops, used.repeats.readings) == (1, 1)

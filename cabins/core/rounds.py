"""How many rounds a wall needs by a nominal pitch."""

import math

from inventory.core.crew_units import Sentence

# A hundredth of a millimetre: heights that are equal on paper must not differ by float dust.
DUST_MM = 0.01


class ImpossibleRise(ValueError):
    """A round that does not rise: its logs with their gap or overlap add nothing to the wall."""


def rounds_for_height(height_mm: float, pitch_mm: float) -> int:
    """The least number of rounds whose low walls' top reaches `height_mm`; at least 1.

    Raises ImpossibleRise where `pitch_mm` is not positive.
    """
    if not pitch_mm > 0:
        raise ImpossibleRise(Sentence("a pitch of {pitch:across} does not raise a wall", pitch=pitch_mm))
    return max(1, math.ceil((height_mm - DUST_MM) / pitch_mm))

"""How a log may be cut: what is trimmed, what the saw takes, how many pieces, how clear of dangers.

Wall and planner take these limits from here, and a crew's own choice of them reaches both.
"""

from dataclasses import dataclass

TRIM_LIMITS_MM = (0, 300)
KERF_LIMITS_MM = (0, 30)
PIECES_LIMITS = (1, 8)
# Nearer than this no saw goes to metal, whatever a crew chooses.
HAZARD_CLEAR_LIMITS_MM = (100, 1000)


@dataclass(frozen=True, slots=True, kw_only=True)
class CutLimits:
    """A crew's limits of cutting; the defaults are common practice, no source.

    `trim_each_end_mm`: off either end of a piece, so that its ends are clean. `kerf_mm`: what one saw cut
    takes. `most_pieces`: out of one log. `hazard_clear_mm`: from metal or a large knot to a cut or notch.
    """

    trim_each_end_mm: float = 25.0
    kerf_mm: float = 5.0
    most_pieces: int = 3
    hazard_clear_mm: float = 300.0

    @property
    def apart_mm(self) -> float:
        """How far two pieces of one log lie apart: one cut and the trim of two ends."""
        return self.kerf_mm + 2 * self.trim_each_end_mm


USUAL_CUTS = CutLimits()

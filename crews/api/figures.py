"""Figures that were worked out, without the digits that mean nothing; as numbers and in words alike."""

import math

_AS_WRITTEN = 5  # what a person writes has no more places: 1/32 in is 0.79375 mm


def noise_free(value: float) -> float:
    """The figure to five digits, hundredths at least; one of no more than five places stays as it is."""
    if not math.isfinite(value) or value == round(value, _AS_WRITTEN):
        return value
    return round(value, max(2, 4 - math.floor(math.log10(abs(value)))))

"""What a figure rests on, as every sheet carries it: the same as for a log's figures."""

from inventory.serializers.basis import BasisOut

__all__ = ["BasisOut"]

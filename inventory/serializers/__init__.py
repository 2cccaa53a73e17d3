"""What species, yards, racks, logs and charts look like from outside."""

from inventory.serializers.lengths import LengthField, LengthParameter

__all__ = ["LengthField", "LengthParameter"]

"""Where Django finds the models of the cabins app; each lies in the room of its noun."""

from cabins.cabins.models import Cabin
from cabins.choices.models import GrainSettings, WallSettings
from cabins.heights.models import MeasuredHeight
from cabins.layouts.models import PastLayout, Place
from cabins.prepared_pieces.models import PreparedPiece
from cabins.roof_members.models import RoofMember
from cabins.set_logs.models import SetLog

__all__ = [
    "Cabin",
    "GrainSettings",
    "MeasuredHeight",
    "PastLayout",
    "Place",
    "PreparedPiece",
    "RoofMember",
    "SetLog",
    "WallSettings",
]

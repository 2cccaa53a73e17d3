"""Where Django finds the models of the inventory app; each lies in the room of its noun."""

from inventory.deliveries.models import DeliveredLog, Delivery
from inventory.logs.models import Log, Measurement
from inventory.mills.models import Mill, MillForm
from inventory.orders.models import MillKey, Order, OrderEvent, OrderLine, Proposal
from inventory.scaling.models import ScalingSettings
from inventory.yards.models import Rack, Species, Yard

__all__ = [
    "DeliveredLog",
    "Delivery",
    "Log",
    "Measurement",
    "Mill",
    "MillForm",
    "MillKey",
    "Order",
    "OrderEvent",
    "OrderLine",
    "Proposal",
    "Rack",
    "ScalingSettings",
    "Species",
    "Yard",
]

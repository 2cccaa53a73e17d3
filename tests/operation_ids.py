"""What each id in the schema names: by its place in an address, by its field in a body or a query.

A new address or field whose id names nothing known here fails the tests that read this, the day it appears.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from django.apps import apps

from tests.schema import schema

MODELS = {
    "cabin": "cabins.Cabin",
    "delivered log": "inventory.DeliveredLog",
    "delivery": "inventory.Delivery",
    "event": "crews.Event",
    "roof member": "cabins.RoofMember",
    "height": "cabins.MeasuredHeight",
    "key": "crews.AccessKey",
    "log": "inventory.Log",
    "member": "crews.Member",
    "mill": "inventory.Mill",
    "mill key": "inventory.MillKey",
    "order": "inventory.Order",
    "plan": "planning.Plan",
    "planning job": "planning.PlanningJob",
    "prepared piece": "cabins.PreparedPiece",
    "reservation": "planning.Reservation",
    "proposal": "inventory.Proposal",
    "rack": "inventory.Rack",
    "set log": "cabins.SetLog",
    "species": "inventory.Species",
    "webhook": "crews.Webhook",
    "webhook delivery": "crews.WebhookDelivery",
    "yard": "inventory.Yard",
}
# The part of an address before an id.
OF_ADDRESS = {
    "cabins": "cabin",
    "crews": "crew",
    "delivered-logs": "delivered log",
    "deliveries": "delivery",
    "roof-members": "roof member",
    "heights": "height",
    "keys": "key",
    "logs": "log",
    "members": "member",
    "mill-keys": "mill key",
    "mills": "mill",
    "orders": "order",
    "planning-jobs": "planning job",
    "plans": "plan",
    "prepared-pieces": "prepared piece",
    "reservations": "reservation",
    "proposals": "proposal",
    "racks": "rack",
    "set-logs": "set log",
    "species": "species",
    "webhook-deliveries": "webhook delivery",
    "webhooks": "webhook",
    "yards": "yard",
}
# A field of a body or a query that holds an id; `id` alone is the client's own.
OF_FIELD = {
    "against": "plan",
    "cabin": "cabin",
    "cabins": "cabin",
    "checked_by": "member",
    "event": "event",
    "excluded": "log",
    "installed_by": "member",
    "id": "new",
    "job": "planning job",
    "log": "log",
    "measured_by": "member",
    "member": "member",
    "mill": "mill",
    "of_order": "order",
    "object": "object",  # of any kind
    "order": "order",
    "other": "plan",
    "plan": "plan",
    "prepared_by": "member",
    "rack": "rack",
    "set_by": "member",
    "species": "species",
    "webhook": "webhook",
    "yard": "yard",
    "yards": "yard",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Operation:
    """One operation of the schema."""

    method: str
    path: str
    told: dict[str, Any]

    @property
    def name(self) -> str:
        return str(self.told["operationId"])

    @property
    def of_mill(self) -> bool:
        """True if a mill's key opens it, and no member's."""
        return bool(self.told["security"] == [{"MillKey": []}])

    def parameters(self, place: str) -> dict[str, dict[str, Any]]:
        """The parameters in the path, the query or the headers: name -> schema."""
        return {p["name"]: p["schema"] for p in self.told.get("parameters", []) if p["in"] == place}

    def path_ids(self) -> dict[str, str]:
        """The ids in the address: name -> kind."""
        parts = self.path.split("/")
        return {
            name: OF_ADDRESS.get(parts[parts.index(f"{{{name}}}") - 1], "object")
            for name, of in self.parameters("path").items()
            if of.get("format") == "uuid"
        }

    def query_ids(self) -> list[str]:
        """The names of the query's ids, those of which several may be given among them."""
        return [
            name
            for name, of in self.parameters("query").items()
            if of.get("items", of).get("format") == "uuid"
        ]

    def body_ids(self) -> list[tuple[str, ...]]:
        """The ids in a JSON body, each as its way down: ("pinned", "*", "log")."""
        content = self.told.get("requestBody", {}).get("content", {}).get("application/json")
        return list(dict.fromkeys(_ids_in(content["schema"], ()))) if content else []


def operations() -> list[Operation]:
    """Every operation of the schema."""
    return [
        Operation(method=method.upper(), path=path, told=told)
        for path, methods in schema()["paths"].items()
        for method, told in methods.items()
    ]


def kind_of_field(way: tuple[str, ...]) -> str | None:
    """What an id in a body or a query names; None if nobody has said it yet."""
    return OF_FIELD.get(next(part for part in reversed(way) if part != "*"))


def _ids_in(node: dict[str, Any], way: tuple[str, ...]) -> Iterator[tuple[str, ...]]:
    if "$ref" in node:
        node = schema()["components"]["schemas"][node["$ref"].rsplit("/", 1)[-1]]
    if node.get("format") == "uuid":
        yield way
    for choice in ("oneOf", "anyOf", "allOf"):
        for part in node.get(choice, []):
            yield from _ids_in(part, way)
    for name, part in node.get("properties", {}).items():
        yield from _ids_in(part, (*way, name))
    if "items" in node:
        yield from _ids_in(node["items"], (*way, "*"))


def ids_of(crew: Any) -> dict[str, list[str]]:
    """The ids of all that the crew has, by kind."""
    found = {"crew": [str(crew.id)]}
    for kind, model in MODELS.items():
        rows = apps.get_model(model)._default_manager.filter(crew=crew).order_by("id")
        found[kind] = [str(id) for id in rows.values_list("id", flat=True)]
    return found

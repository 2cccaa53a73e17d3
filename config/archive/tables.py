"""What goes into a crew's archive: every model of ours stands here, or below with why it stays behind."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

from django.apps import apps
from django.db.models import Model

OUR_APPS = ("crews", "inventory", "cabins", "planning")

_NO_KEY = "sha256(uuid_send(gen_random_uuid()) || uuid_send(gen_random_uuid()))"  # the hash of no key
_CABINS = "cabin_id IN (SELECT id FROM cabins_cabin WHERE crew_id = {crew})"
_PLANS = "plan_id IN (SELECT id FROM planning_plan WHERE crew_id = {crew})"
_PEOPLE = "id IN (SELECT person_id FROM crews_member WHERE crew_id = {crew})"
# Who founded a crew may be another crew's member: there the history names nobody.
_OWN_MEMBER = "(SELECT id FROM crews_member one WHERE one.id = member_id AND one.crew_id = {crew})"


@dataclass(frozen=True, slots=True, kw_only=True)
class Held:
    """How a model's rows are archived; `{crew}` stands for the crew's id. SQL throughout.

    `rows` says which are the crew's, `stays` which columns are not written and what fills them on the other
    server, `written` what is written of a column instead of itself. With `new_ids` a row gets another id
    there; with `documents_name_rows` no document of it may name a row that the other server has already.
    """

    rows: str = "crew_id = {crew}"
    stays: Mapping[str, str] = field(default_factory=dict)
    written: Mapping[str, str] = field(default_factory=dict)
    new_ids: bool = False
    documents_name_rows: bool = False


# In the order in which they are read in: each after those that it names, the history last.
ARCHIVED: dict[str, Held] = {
    "crews.Crew": Held(rows="id = {crew}"),
    # Under an id of its own: a person of that id may be a member of other crews there.
    "crews.Person": Held(
        rows=_PEOPLE,
        new_ids=True,
        stays={"password": "'!' || gen_random_uuid()", "handle": "NULL", "last_login": "NULL"},
    ),
    "crews.Member": Held(),
    "crews.AccessKey": Held(stays={"secret_sha256": _NO_KEY}),
    # In their order, and on the other server all of the one transaction that reads them in.
    "crews.Event": Held(stays={"position": "roundlay_event_position()"}),
    "crews.Webhook": Held(
        stays={"secret": "gen_random_uuid()", "old_secret": "''", "old_secret_until": "NULL"}
    ),
    "crews.WebhookDelivery": Held(),
    "inventory.Species": Held(),
    "inventory.Yard": Held(),
    "inventory.Rack": Held(),
    "inventory.Log": Held(),
    "inventory.Measurement": Held(),
    "inventory.ScalingSettings": Held(),
    "inventory.Mill": Held(),
    "inventory.MillForm": Held(),
    "inventory.Order": Held(),
    "inventory.OrderLine": Held(),
    "inventory.MillKey": Held(stays={"secret_sha256": _NO_KEY}),
    "inventory.OrderEvent": Held(),
    "inventory.Proposal": Held(),
    "inventory.Delivery": Held(),
    "inventory.DeliveredLog": Held(),
    "cabins.WallSettings": Held(),
    "cabins.GrainSettings": Held(),
    "cabins.Cabin": Held(),
    "cabins.PastLayout": Held(),
    "cabins.Place": Held(rows=_CABINS, new_ids=True),
    "cabins.SetLog": Held(),
    "cabins.MeasuredHeight": Held(),
    "cabins.RoofMember": Held(),
    "cabins.PreparedPiece": Held(),
    # A search under way is not a result yet, and no other server could go on with it.
    "planning.PlanningJob": Held(
        rows="crew_id = {crew} AND state NOT IN ('waiting', 'running')", documents_name_rows=True
    ),
    "planning.Plan": Held(documents_name_rows=True),
    "planning.PlannedPiece": Held(rows=_PLANS, new_ids=True),
    "planning.CurrentPlan": Held(rows=_CABINS, new_ids=True),
    "planning.Reservation": Held(),
    "crews.Change": Held(new_ids=True, stays={"position": "0"}, written={"member_id": _OWN_MEMBER}),
}
LEFT_OUT: dict[str, str] = {
    "crews.KeptAnswer": "Answers kept for a day in case a request is repeated; some show a key.",
    "crews.SignInLink": "Links that are good for ten minutes.",
    "planning.PlanningStart": "The searches of a planning job under way; what has ended has none.",
    "crews.CrewSize": "How many bytes all of this takes on the server that it is written on.",
    "crews.RequestCount": "How often a key asked within the last minute.",
}


@dataclass(frozen=True)
class Table:
    """A model whose rows are archived."""

    model: type[Model]
    held: Held

    @property
    def file(self) -> str:
        """The name of its file in the archive."""
        return f"{self.model._meta.label_lower}.jsonl"

    @property
    def name(self) -> str:
        """Its table in the database."""
        return self.model._meta.db_table

    @cached_property
    def fields(self) -> dict[str, Any]:
        """column -> field, of all that is stored and not reckoned by the database."""
        stored = [f for f in self.model._meta.local_concrete_fields if not f.generated]
        return {str(f.column): f for f in stored}

    @cached_property
    def columns(self) -> list[str]:
        """The columns that are written."""
        return [column for column in self.fields if column not in self.held.stays]

    @cached_property
    def names(self) -> dict[str, "Table"]:
        """column -> the table whose rows it names."""
        return {column: table_of(f.related_model) for column, f in self.fields.items() if f.is_relation}


def table_of(model: type[Model]) -> Table:
    return Table(model, ARCHIVED[str(model._meta.label)])


def tables() -> list[Table]:
    """All that is archived, in the order in which it is read in."""
    return [table_of(apps.get_model(label)) for label in ARCHIVED]


def undecided() -> list[str]:
    """Models of ours, or that name one of ours, of which it is not said whether they go into an archive."""
    named = {
        str(model._meta.label)
        for model in apps.get_models()
        if model._meta.app_label in OUR_APPS
        or any(f.is_relation and _is_archived(f.related_model) for f in model._meta.local_concrete_fields)
    }
    return sorted(named - set(ARCHIVED) - set(LEFT_OUT))


def _is_archived(model: Any) -> bool:
    return getattr(getattr(model, "_meta", None), "label", "") in ARCHIVED

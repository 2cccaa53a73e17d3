"""By what the lists of the inventory can be narrowed."""

from typing import Any
from uuid import UUID

from django import forms
from django.db.models import Q, QuerySet
from django_filters import BaseInFilter, BooleanFilter, CharFilter, ChoiceFilter, FilterSet, UUIDFilter

from inventory.deliveries.models import DeliveryState
from inventory.logs.fields import LengthParameter
from inventory.logs.models import SEASONINGS, Log, LogState
from inventory.orders.models import OrderState


class OrderFilters(FilterSet):
    mill = UUIDFilter(field_name="mill", label="Orders from this mill.")
    state = ChoiceFilter(field_name="state", choices=OrderState.choices, label="Orders in this state.")


class DeliveryFilters(FilterSet):
    # Not `order`: that is how every list is put in order.
    of_order = UUIDFilter(field_name="order", label="Deliveries of this order.")
    state = ChoiceFilter(
        field_name="state", choices=DeliveryState.choices, label="Deliveries that have come this far."
    )


Logs = QuerySet[Log, dict[str, Any]]

FREE = [LogState.IN_RACK, LogState.PUT_ASIDE]


class RackFilters(FilterSet):
    yard = UUIDFilter(field_name="yard", label="Racks of this yard.")


class _StateInQuery(forms.CharField):
    """One of the words for a log's state."""

    def clean(self, value: Any) -> Any:
        state = super().clean(value)
        if state and state not in LogState.values:
            raise forms.ValidationError(f"A log is one of: {', '.join(LogState.values)}.")
        return state


class _StateFilter(CharFilter):
    field_class = _StateInQuery


class _StatesFilter(BaseInFilter, _StateFilter):
    """Several states, with commas between."""


_SEASONINGS = [word for word, _ in SEASONINGS]


class _SeasoningInQuery(forms.CharField):
    """A word for how dry a log is, or unknown."""

    def clean(self, value: Any) -> Any:
        how = super().clean(value)
        if how and how not in (*_SEASONINGS, "unknown"):
            raise forms.ValidationError(f"A log is one of: {', '.join(_SEASONINGS)}; or unknown.")
        return how


class _SeasoningFilter(CharFilter):
    field_class = _SeasoningInQuery


class _IdsInQuery(forms.CharField):
    """Some ids, with commas between."""

    def clean(self, value: Any) -> Any:
        asked = [one.strip() for one in (super().clean(value) or "").split(",") if one.strip()]
        try:
            ids = [UUID(one) for one in asked]
        except ValueError:
            raise forms.ValidationError("Ids are UUIDs, with commas between.") from None
        if len(ids) > _IDS_MOST:
            raise forms.ValidationError(f"{_IDS_MOST} ids at most.")
        return ids


class _IdsFilter(CharFilter):
    field_class = _IdsInQuery


_IDS_MOST = 100


class LogFilters(FilterSet):
    number = CharFilter(method="with_number", label="With this number, in any case of letters.")
    q = CharFilter(
        method="with_words", label="With this in its number, the mill's number, remarks or why it is a cull."
    )
    ids = _IdsFilter(
        field_name="id", lookup_expr="in", label=f"These logs, {_IDS_MOST} at most, with commas between."
    )
    yard = UUIDFilter(field_name="yard", label="Logs of this yard.")
    rack = UUIDFilter(field_name="rack", label="Logs on this rack.")
    species = UUIDFilter(field_name="species", label="Logs of this species.")
    state = _StatesFilter(
        field_name="state",
        lookup_expr="in",
        label=f"In one of these states, with commas between: {', '.join(LogState.values)}.",
    )
    length_at_least = LengthParameter(
        field_name="length_mm", lookup_expr="gte", label="At least so long: mm, or a text such as `19' 4\"`."
    )
    middle_at_least = LengthParameter(
        field_name="middle_mm", lookup_expr="gte", label="At least so thick in the middle: mm or a text."
    )
    middle_at_most = LengthParameter(
        field_name="middle_mm", lookup_expr="lte", label="At most so thick in the middle: mm or a text."
    )
    mill_tag = CharFilter(
        method="with_mill_tag", label="With this number of the mill's, in any case of letters."
    )
    with_hazard = BooleanFilter(method="with_a_hazard", label="With (or without) metal, knots or the like.")
    seasoning = _SeasoningFilter(
        method="as_dry", label=f"Charted as one of these, or unknown: {', '.join(_SEASONINGS)}."
    )
    culled = BooleanFilter(field_name="culled", label="Culls only, or none.")
    free = BooleanFilter(method="free_for_a_cabin", label="Not reserved, set, cut up or gone.")

    def as_dry(self, logs: Logs, name: str, wanted: str) -> Logs:
        return logs.filter(seasoning__isnull=True) if wanted == "unknown" else logs.filter(seasoning=wanted)

    def with_a_hazard(self, logs: Logs, name: str, wanted: bool) -> Logs:
        return logs.exclude(hazards=[]) if wanted else logs.filter(hazards=[])

    def with_number(self, logs: Logs, name: str, number: str) -> Logs:
        return logs.filter(number__iexact=" ".join(number.split()))

    def with_words(self, logs: Logs, name: str, words: str) -> Logs:
        where = ("number", "mill_tag", "remarks", "cull_reason")
        found = Q()
        for one in where:
            found |= Q(**{f"{one}__icontains": words})
        return logs.filter(found)

    def with_mill_tag(self, logs: Logs, name: str, tag: str) -> Logs:
        # The exclusion adds nothing but what the index of tags is for: logs that have one.
        return logs.filter(mill_tag__iexact=" ".join(tag.split())).exclude(mill_tag="")

    def free_for_a_cabin(self, logs: Logs, name: str, wanted: bool) -> Logs:
        free = Q(state__in=FREE)
        return logs.filter(free if wanted else ~free)

"""By what the lists of cabins can be narrowed."""

from typing import Any

from django import forms
from django_filters import BooleanFilter, CharFilter, Filter, FilterSet, UUIDFilter


class _RoundInQuery(forms.IntegerField):
    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**{"min_value": 0, "max_value": 1000, **kwargs})


class RoundFilter(Filter):
    """A whole number of rounds."""

    field_class = _RoundInQuery


class CabinFilters(FilterSet):
    name = CharFilter(lookup_expr="icontains", label="Part of the name.")
    laid_out = BooleanFilter(
        field_name="rounds", lookup_expr="isnull", exclude=True, label="Whether it has a layout."
    )


class PlaceFilters(FilterSet):
    wall = CharFilter(label="The wall's id.")
    round = RoundFilter(label="The round, from 1.")
    open = BooleanFilter(field_name="filling", lookup_expr="isnull", label="Whether no log is set in it yet.")


class SetLogFilters(FilterSet):
    cabin = UUIDFilter(label="The cabin's id.")
    log = UUIDFilter(label="The log's id.")
    wall = CharFilter(label="The wall's id.")
    round = RoundFilter(label="The round, from 1.")
    undone = BooleanFilter(
        field_name="undone_at", lookup_expr="isnull", exclude=True, label="Whether it was undone."
    )


class RoofMemberFilters(FilterSet):
    cabin = UUIDFilter(label="The cabin's id.")
    log = UUIDFilter(label="The log's id.")
    member = CharFilter(label="The member's name.")
    undone = BooleanFilter(
        field_name="undone_at", lookup_expr="isnull", exclude=True, label="Whether it was undone."
    )


class PreparedPieceFilters(FilterSet):
    cabin = UUIDFilter(label="The id of the cabin they are for.")
    log = UUIDFilter(label="The log's id.")
    undone = BooleanFilter(
        field_name="undone_at", lookup_expr="isnull", exclude=True, label="Whether it was undone."
    )


class HeightFilters(FilterSet):
    cabin = UUIDFilter(label="The cabin's id.")
    wall = CharFilter(label="The wall's id.")
    round = RoundFilter(label="The round; 0 is what the wall starts on.")
    end = CharFilter(label="The end of the wall, `start` or `end`, or a tee: `P-A`.")
    undone = BooleanFilter(
        field_name="undone_at", lookup_expr="isnull", exclude=True, label="Whether it was taken back."
    )

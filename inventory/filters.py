"""By what the lists of the inventory can be narrowed."""

from django_filters import FilterSet, UUIDFilter


class RackFilters(FilterSet):
    yard = UUIDFilter(field_name="yard", label="Racks of this yard.")

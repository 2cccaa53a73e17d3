"""By what the lists of orders and deliveries can be narrowed."""

from django_filters import ChoiceFilter, FilterSet, UUIDFilter

from inventory.models_orders import DeliveryState, OrderState


class OrderFilters(FilterSet):
    mill = UUIDFilter(field_name="mill", label="Orders from this mill.")
    state = ChoiceFilter(field_name="state", choices=OrderState.choices, label="Orders in this state.")


class DeliveryFilters(FilterSet):
    # Not `order`: that is how every list is put in order.
    of_order = UUIDFilter(field_name="order", label="Deliveries of this order.")
    state = ChoiceFilter(
        field_name="state", choices=DeliveryState.choices, label="Deliveries that have come this far."
    )

"""The inventory app."""

from django.apps import AppConfig


class InventoryConfig(AppConfig):
    name = "inventory"

    def ready(self) -> None:
        # Models can be imported only now.
        from crews.accounts.new_crew_defaults import when_founded
        from inventory.yards.actions import seed_crew

        when_founded(seed_crew)

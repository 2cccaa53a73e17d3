"""The cabins app."""

from django.apps import AppConfig


class CabinsConfig(AppConfig):
    name = "cabins"

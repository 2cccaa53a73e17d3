"""What printed sheets ask for: the paper, and of which rack."""

from rest_framework import serializers

from crews.api.reading import QueryIn
from crews.api.times import ZONE_HELP, ZoneField
from inventory.core.printed.press import Paper

PAPERS = [(paper.value, paper.value) for paper in Paper]
PAPER_HELP = "Letter for a crew that reads inches, else A4, if not given."


class PaperQuery(QueryIn):
    paper = serializers.ChoiceField(PAPERS, required=False, help_text=PAPER_HELP)
    zone = ZoneField(required=False, max_length=60, help_text=ZONE_HELP)


class YardSheetQuery(PaperQuery):
    rack = serializers.UUIDField(default=None, help_text="Only the logs on this rack.")

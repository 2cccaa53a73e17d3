"""The address of a crew's way of scaling logs."""

from django.utils.timezone import now
from rest_framework.response import Response
from rest_framework.views import APIView

from crews.accounts.access import CrewRequest
from crews.accounts.models import Role
from crews.api.answers import answered
from crews.api.describe import describe
from crews.api.versions import VersionNeeded, VersionStale, if_match
from inventory.scaling.actions import choose_scaling
from inventory.scaling.queries import scaling_settings
from inventory.scaling.serializers import ScalingSettingsIn, ScalingSettingsOut


class OwnScaling(APIView):
    required_roles = {"GET": Role.LEARNER, "PATCH": Role.LEAD}

    @describe(
        "show_scaling_settings",
        "How the crew's logs are scaled for board feet where a question does not say",
        answers={200: ScalingSettingsOut},
    )
    def get(self, request: CrewRequest) -> Response:
        return answered(scaling_settings(request.crew))

    @describe(
        "change_scaling_settings",
        "Choose how the crew's logs are scaled; null goes back to the default",
        takes=ScalingSettingsIn,
        answers={200: ScalingSettingsOut},
        versioned=True,
        refusals=[VersionNeeded, VersionStale],
        examples=[("West of the mountains", {"longest_ft": 40, "odd_feet": "top", "trim_mm": "8 in"})],
    )
    def patch(self, request: CrewRequest) -> Response:
        fields = ScalingSettingsIn.parse(request)
        choose_scaling(crew=request.crew, fields=fields, expected=if_match(request), at=now())
        return answered(scaling_settings(request.crew))

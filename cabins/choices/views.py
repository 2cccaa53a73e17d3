"""Addresses of what a crew chooses for its walls: settling and notches, and the rules of grain."""

from django.utils.timezone import now
from rest_framework.response import Response
from rest_framework.views import APIView

from cabins.choices.actions import choose_wall_settings, switch_grain_rules
from cabins.choices.grain import grain_rules
from cabins.choices.queries import wall_settings_answer
from cabins.choices.serializers import GrainRulesIn, GrainRulesOut, WallSettingsIn, WallSettingsOut
from crews.accounts.access import CrewRequest
from crews.accounts.models import Role
from crews.api.answers import answered
from crews.api.describe import describe
from crews.api.versions import VersionNeeded, VersionStale, if_match

_VERSIONS = (VersionNeeded, VersionStale)
_CODE = {"code_title": "Shire building code", "code_low_pct": 4, "code_high_pct": 6}


class OwnWallSettings(APIView):
    required_roles = {"GET": Role.LEARNER, "PATCH": Role.LEAD}

    @describe(
        "show_wall_settings",
        "What settling and notches are reckoned with where a question does not say",
        answers={200: WallSettingsOut},
    )
    def get(self, request: CrewRequest) -> Response:
        return answered(wall_settings_answer(request.crew))

    @describe(
        "change_wall_settings",
        "Choose the rule for settling, moistures, bedding down and how notches are cut; null: the default",
        takes=WallSettingsIn,
        answers={200: WallSettingsOut},
        versioned=True,
        refusals=_VERSIONS,
        examples=[("Local code, notches cut deeper", {**_CODE, "underscribe_mm": "1/4 in"})],
        text="A local code governs every allowance. Local code and licensed practice decide.",
    )
    def patch(self, request: CrewRequest) -> Response:
        fields = WallSettingsIn.parse(request)
        choose_wall_settings(crew=request.crew, fields=fields, expected=if_match(request), at=now())
        return answered(wall_settings_answer(request.crew))


class OwnGrainRules(APIView):
    required_roles = {"GET": Role.LEARNER, "PATCH": Role.LEAD}

    @describe(
        "show_grain_rules",
        "The rules for where a log of spiral grain may lie, each with its source, as the crew has them",
        answers={200: GrainRulesOut},
    )
    def get(self, request: CrewRequest) -> Response:
        return answered(grain_rules(request.crew))

    @describe(
        "switch_grain_rules",
        "Switch rules of grain off, to warn or to bind; null: the default",
        takes=GrainRulesIn,
        answers={200: GrainRulesOut},
        versioned=True,
        refusals=_VERSIONS,
        examples=[
            ("One rule off, one binding", {"weights": {"twist_low": "off", "top_round_straight": "bind"}})
        ],
    )
    def patch(self, request: CrewRequest) -> Response:
        fields = GrainRulesIn.parse(request)
        switch_grain_rules(crew=request.crew, fields=fields, expected=if_match(request), at=now())
        return answered(grain_rules(request.crew))

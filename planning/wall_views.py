"""Addresses at the wall: logs set as the plan knows them, the next log, the round's setting sheet."""

from uuid import UUID

from django.utils.timezone import now
from rest_framework.response import Response
from rest_framework.views import APIView

from cabins.queries import set_log_row
from cabins.serializers import SetLogIn, SetLogOut
from cabins.views import OneSetLog
from config.api.answers import answered
from config.api.describe import describe
from crews.access import CrewRequest
from crews.keeping import one_of
from crews.models import Role
from cabins.models import Cabin
from planning import setting, sheets
from planning.adoption import PlanStale
from planning.serializers import NextLogOut, RoundQuery, SettingSheetOut, UndoIn

"""Addresses of mills and of their own forms."""

from functools import partial
from uuid import UUID

from django.utils.timezone import now
from django_filters import FilterSet
from rest_framework.response import Response
from rest_framework.views import APIView

from crews.accounts.access import CrewRequest
from crews.accounts.models import Role
from crews.api.answers import answered
from crews.api.describe import describe
from crews.api.paging import list_parameters, page
from crews.api.versions import VersionNeeded, VersionStale, if_match
from crews.history.sync import synced_page, synced_parameters
from inventory.mills import actions, queries
from inventory.mills.serializers import (
    FilledFormOut,
    FormFieldsOut,
    FormIn,
    FormOut,
    FormPage,
    MillIn,
    MillOut,
    MillPage,
    PreviewIn,
)
from inventory.order_forms.queries import form_fields, preview
from inventory.yards.actions import NameTaken

_VERSIONS = (VersionNeeded, VersionStale)
_ORDERS = {"name": "name", "created_at": "created_at"}
_BY_VERSION = {"version": "version"}
_MILL = {"name": "Quillback mill", "board_rule": "doyle", "trim_mm": "6 in"}
_FORM = {
    "title": "Order for house logs",
    "columns": [
        {"heading": "Species", "field": "species"},
        {"heading": "Length", "field": "length_mm", "unit": "ft_in", "fraction": 2, "mark": True},
        {"heading": "Mid min (in)", "field": "least_middle_mm", "unit": "in", "fraction": 4},
        {"heading": "Mid max (in)", "field": "largest_middle_mm", "unit": "in", "fraction": 4},
        {"heading": "Pcs", "field": "count"},
        {"heading": "Mid (in)", "field": "middle_mm", "on": "tally", "unit": "in", "fraction": 8},
        {"heading": "BF", "field": "board_feet"},
    ],
    "above": [{"label": "Order", "field": "order"}, {"text": "Peeled, green."}],
    "below": [{"label": "Total BF", "field": "total_board_feet"}],
}
_HOW = """A column has a `heading` and a `field` of ours, or a fixed `text`; `on` says whether it stands on
the `order`, on the `tally` or on `both`. Lengths have a `unit`, and a `fraction` of an inch or `decimals`;
`mark` writes the unit. `one_line_per` is `class` or `log`; `sort_by` orders the rows; `merge_equal` counts
rows together that read alike; `above` and `below` hold texts, or a `label` with a `field` of the order;
`decimal_mark`, `thousands_mark` and `delimiter` are the mill's. Every fault names its `column`."""


class Mills(APIView):
    required_roles = {"GET": Role.LEARNER}

    @describe(
        "list_mills",
        "The crew's mills",
        answers={200: MillPage},
        parameters=synced_parameters(FilterSet, _ORDERS),
    )
    def get(self, request: CrewRequest) -> Response:
        return Response(
            synced_page(request, queries.mills_of(request.crew), filters=FilterSet, orders=_ORDERS)
        )


class OneMill(APIView):
    required_roles = {"GET": Role.LEARNER, "PUT": Role.BUILDER}

    @describe("show_mill", "One mill, and how it reckons", answers={200: MillOut})
    def get(self, request: CrewRequest, id: UUID) -> Response:
        return answered(queries.mill_row(request.crew, id))

    @describe(
        "put_mill",
        "Add a mill, or change how it reckons; orders already sent keep their terms",
        takes=MillIn,
        answers={200: MillOut, 201: MillOut},
        versioned=True,
        refusals=[*_VERSIONS, NameTaken],
        examples=[("A mill that pays by Doyle", _MILL)],
    )
    def put(self, request: CrewRequest, id: UUID) -> Response:
        fields = MillIn.parse_put(request, partial(queries.mill_row, request.crew, id))
        expected = if_match(request)
        created = actions.put_mill(crew=request.crew, id=id, fields=fields, expected=expected, at=now())
        return answered(queries.mill_row(request.crew, id), created=created)


class OneForm(APIView):
    required_roles = {"GET": Role.LEARNER, "PUT": Role.BUILDER}

    @describe("show_form", "The mill's own form as it is now", answers={200: FormOut})
    def get(self, request: CrewRequest, id: UUID) -> Response:
        return answered(queries.form_row(request.crew, id))

    @describe(
        "put_form",
        "Describe the mill's own form; each change is a version of its own",
        takes=FormIn,
        answers={200: FormOut, 201: FormOut},
        versioned=True,
        refusals=_VERSIONS,
        examples=[("One line a class, in inches", {"document": _FORM})],
        text=_HOW,
    )
    def put(self, request: CrewRequest, id: UUID) -> Response:
        document, expected = FormIn.parse(request)["document"], if_match(request)
        created = actions.put_form(crew=request.crew, mill=id, document=document, expected=expected, at=now())
        return answered(queries.form_row(request.crew, id), created=created)


class Forms(APIView):
    required_roles = {"GET": Role.LEARNER}

    @describe(
        "list_forms",
        "Every version of the mill's form",
        answers={200: FormPage},
        parameters=list_parameters(FilterSet, _BY_VERSION),
    )
    def get(self, request: CrewRequest, id: UUID) -> Response:
        rows = queries.forms_of(request.crew, id)
        return Response(page(request, rows, filters=FilterSet, orders=_BY_VERSION))


class FormFields(APIView):
    required_roles = {"GET": Role.LEARNER}

    @describe("list_form_fields", "What a mill's form can show and read", answers={200: FormFieldsOut})
    def get(self, request: CrewRequest) -> Response:
        return Response(form_fields())


class FormPreview(APIView):
    required_roles = {"POST": Role.LEARNER}

    @describe(
        "preview_form",
        "A form filled with an order, or with an example; nothing is stored",
        takes=PreviewIn,
        answers={200: FilledFormOut},
        examples=[("An example order", {"document": _FORM})],
    )
    def post(self, request: CrewRequest) -> Response:
        asked = PreviewIn.parse(request)
        return Response(preview(request.crew, actions.check_form(asked["document"]), order=asked["order"]))

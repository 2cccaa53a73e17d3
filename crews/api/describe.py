"""How a view describes its operations for the OpenAPI schema."""

from collections.abc import Callable, Sequence
from typing import Any

from drf_spectacular.openapi import AutoSchema
from drf_spectacular.utils import OpenApiExample, OpenApiParameter, OpenApiResponse, extend_schema

import crews.api.bounds  # noqa: F401 - tells drf-spectacular
from crews.api.problems import Refusal
from crews.api.reading import QueryIn
from crews.api.schema import REFUSES, STREAMED

IF_MATCH = OpenApiParameter(
    "If-Match", str, OpenApiParameter.HEADER, description='The version you are changing, as its ETag: `"3"`.'
)


class Schema(AutoSchema):
    """Where drf-spectacular asks each view; tags come from the address up to the first / or dot."""

    def get_tags(self) -> list[str]:
        return [self.path.removeprefix("/api/v1/").split("/")[0].partition(".")[0]]

    def get_operation(self, *args: Any, **kwargs: Any) -> Any:
        operation = super().get_operation(*args, **kwargs)
        # Whoever has a key may do what a learner may.
        if operation and getattr(self.view, "required_roles", {}).get(self.method, "learner") != "learner":
            operation.setdefault(REFUSES, {}).setdefault("403", False)
        return operation


def describe(
    operation_id: str,
    summary: str,
    *,
    answers: dict[int, Any],
    takes: Any = None,
    examples: Sequence[tuple[str, Any]] = (),
    parameters: Sequence[OpenApiParameter | type[QueryIn]] = (),
    versioned: bool = False,
    refusals: Sequence[type[Refusal]] = (),
    text: str = "",
    media: str = "application/json",
    answers_media: str | None = None,
    streamed: bool = False,
) -> Callable[[Any], Any]:
    """Describe one operation. `examples` are (name, value) of the request if it takes one, else of
    the answer.

    `media` is the media type of the body it takes or, if it takes none, of its answers; `answers_media` that
    of its answers if it takes a body and they are no JSON.
    `streamed`: the answer goes out while it is made, so that nothing is known of it as a whole.
    `versioned` adds the If-Match header; `refusals` are named in the operation's text with their types.
    """
    lines = [text] if text else []
    lines += [f"- `/problems/{r.slug()}` ({r.status}): {r.title()}" for r in refusals]
    gives = answers_media or ("application/json" if takes else media)
    described = extend_schema(
        operation_id=operation_id,
        summary=summary,
        description="\n".join(lines) or summary,
        request=takes and {media: takes},
        responses={
            (status, gives): OpenApiResponse(answer, description=_ANSWERED.get(status, "Done."))
            if answer is not None
            else OpenApiResponse(description=_ANSWERED.get(status, "Done."))
            for status, answer in answers.items()
        },
        parameters=[*parameters, *([IF_MATCH] if versioned else [])],
        extensions={
            **({STREAMED: True} if streamed else {}),
            REFUSES: {
                str(status): any("Retry-After" in one.headers for one in refusals if one.status == status)
                for status in {one.status for one in refusals}
            },
        },
        examples=[
            OpenApiExample(
                name,
                value,
                request_only=takes is not None,
                response_only=takes is None,
                media_type=media,
            )
            for name, value in examples
        ],
    )

    def name(method: Any) -> Any:
        found = described(method)
        found.operation_id = operation_id  # for logs and metrics
        return found

    return name


_ANSWERED = {200: "As asked.", 201: "Created.", 202: "Taken; it will be done.", 204: "Done."}

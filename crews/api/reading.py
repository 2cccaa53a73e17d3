"""Reading bodies and queries: strict serializers whose faults all come back at once."""

from collections.abc import Callable, Mapping
from contextlib import suppress
from decimal import Decimal
from functools import cache, cached_property
from itertools import islice
from typing import Any, cast

from django.core.exceptions import ValidationError as DjangoValidationError
from django.http import QueryDict
from rest_framework import serializers
from rest_framework.fields import get_error_detail
from rest_framework.request import Request

from crews.api.paging import refuse_unknown
from crews.api.problems import InvalidInput, InvalidQuery, NotFound, fault_of

Check = Callable[[Any], Any]
# Of the fields that there are not, as many are told.
_UNKNOWN_TOLD = 20
# Fields that write out whatever they are given before they look what it is.
_SIMPLE = (
    serializers.CharField,
    serializers.ChoiceField,
    serializers.DecimalField,
    serializers.IntegerField,
    serializers.UUIDField,
)


class BodyIn(serializers.Serializer[Any]):
    """A request's body. An unknown field is a fault: a misspelt one must not be dropped in silence."""

    def to_internal_value(self, data: Any) -> Any:
        if not isinstance(data, Mapping):
            return super().to_internal_value(data)
        unknown = (str(name) for name in data if name not in self.fields)
        faults: dict[str, Any] = {name: ["No such field here."] for name in islice(unknown, _UNKNOWN_TOLD)}
        values: dict[str, Any] = {}
        for name, field, needed, check in self._readable:
            # What is not sent and need not be would only be passed over: most of a log's fields.
            sent = name in data
            if not sent and (self.partial or not needed):
                continue
            try:
                if sent or field.required:
                    value = field.run_validation(_bounded(field, field.get_value(data)))
                else:
                    value = field.get_default()
                self.set_value(values, field.source_attrs, value if check is None else check(value))
            except serializers.SkipField:
                continue
            except DjangoValidationError as found:
                faults[name] = get_error_detail(found)
            except serializers.ValidationError as found:
                faults[name] = found.detail
        if faults:
            raise serializers.ValidationError(faults)
        return values

    @cached_property
    def _readable(self) -> list[tuple[str, serializers.Field[Any, Any, Any, Any], bool, Check | None]]:
        """Each field that may be sent, whether it has a value even if it is not, and its own check."""
        return [
            (
                name,
                field,
                field.required or field.default is not serializers.empty,
                getattr(self, f"validate_{name}", None),
            )
            for name, field in self.fields.items()
            if not field.read_only
        ]

    @classmethod
    def parse(
        cls, request: Request, *, partial: bool = False, context: Mapping[str, Any] | None = None
    ) -> dict[str, Any]:
        """The body's values, checked; InvalidInput names every fault."""
        return cls.read(request.data, partial=partial, context=context)

    @classmethod
    def parse_put(cls, request: Request, stored: Callable[[], Mapping[str, Any]]) -> dict[str, Any]:
        """The values of a PUT: a field that is not sent stays as `stored` tells it, so that no client of an
        earlier version makes it forgotten. Where `stored` raises NotFound the fields have their defaults.
        """
        return cls.read(cls.with_stored(request.data, stored))

    @classmethod
    def with_stored(cls, sent: Any, stored: Callable[[], Mapping[str, Any]]) -> Any:
        """The body with what it leaves out of what is stored; as it is where it leaves out nothing."""
        if not isinstance(sent, Mapping):
            return sent
        fields = _reader(cls, False).fields
        left_out = [name for name, field in fields.items() if not field.required and name not in sent]
        if not left_out:
            return sent
        try:
            held = stored()
        except NotFound:
            return sent
        kept = {
            name: _as_sent(held[name])
            for name in left_out
            if name in held and (held[name] is not None or fields[name].allow_null)
        }
        return {**kept, **sent}

    @classmethod
    def read(
        cls, sent: Any, *, partial: bool = False, context: Mapping[str, Any] | None = None
    ) -> dict[str, Any]:
        """The same of what is a body by itself: an entry of a batch."""
        if context is None:
            with suppress(serializers.ValidationError):
                return cast(dict[str, Any], _reader(cls, partial).run_validation(sent))
        reading = cls(data=sent, partial=partial, context=context or {})
        reading.is_valid(raise_exception=True)
        return reading.validated_data


def _bounded(field: "serializers.Field[Any, Any, Any, Any]", value: Any) -> Any:
    """The value, or as little of one that is refused as makes it refused: else all of it is looked at."""
    if isinstance(field, serializers.ListField) and isinstance(value, list) and field.max_length is not None:
        if len(value) > field.max_length:
            told = f"Ensure this field has no more than {field.max_length} elements."
            raise serializers.ValidationError(told, code="max_length")
    elif isinstance(field, _SIMPLE) and isinstance(value, list | dict):
        return type(value)()
    return value


@cache
def _reader(kind: type[BodyIn], partial: bool) -> BodyIn:
    """One for all bodies of a kind: what is read leaves nothing in it, and to make its fields takes longer
    than to read with them."""
    return kind(partial=partial)


def _as_sent(stored: Any) -> Any:
    """A stored value as JSON would bring it."""
    return float(stored) if isinstance(stored, Decimal) else stored


class QueryIn(serializers.Serializer[Any]):
    """A request's query parameters."""

    @classmethod
    def parse(cls, request: Request) -> dict[str, Any]:
        """The parameters' values, checked; InvalidQuery names every fault."""
        reading = cls(data=_plain(request.query_params))
        refuse_unknown(request, set(reading.fields))
        if not reading.is_valid():
            raise InvalidQuery(
                errors=[fault_of(f"?{name}", e) for name, es in reading.errors.items() for e in es]
            )
        return reading.validated_data


def _plain(params: QueryDict) -> dict[str, Any]:
    return {name: params[name] for name in params}


class RowOut(serializers.Serializer[Any]):
    """Describes an answer. Rows come from a named query; a test proves that both agree."""


def raise_if_any(faults: list[dict[str, Any]]) -> None:
    """Refuse if there are any."""
    if faults:
        raise InvalidInput(errors=faults)

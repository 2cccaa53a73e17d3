"""A form's document, as a mill's columns are stored, checked as a whole: every fault names its column."""

from collections.abc import Mapping
from typing import Any

from inventory.core.finding import Finding
from inventory.core.form import Form, FormColumn, FormLine, Marks, heading_key
from inventory.core.form_fields import FIELDS, HEADER_FIELDS, Kind, On
from inventory.core.measure import FRACTIONS, Unit

LONGEST_TEXT = 200
MOST_COLUMNS, MOST_LINES = 40, 60
MOST_DECIMALS = 5


class BadForm(ValueError):
    """This document describes no form; `faults` names every fault."""

    def __init__(self, faults: tuple[Finding, ...]) -> None:
        self.faults = faults
        super().__init__("; ".join(f"{one.pointer}: {one.text}" for one in faults))


def read_form(document: Any) -> Form:
    """The form that a JSON document describes. Raises BadForm with every fault, each naming its column."""
    reader = _Reader()
    form = reader.form(document)
    if reader.faults or form is None:
        raise BadForm(tuple(reader.faults))
    return form


_FORM_KEYS = {
    "title",
    "one_line_per",
    "columns",
    "sort_by",
    "merge_equal",
    "above",
    "below",
    "decimal_mark",
    "thousands_mark",
    "delimiter",
}
_COLUMN_KEYS = {"heading", "field", "text", "on", "unit", "fraction", "decimals", "mark"}
_LINE_KEYS = {"text", "label", "field"}


class _Reader:
    """Reads the document part by part and collects its faults."""

    def __init__(self) -> None:
        self.faults: list[Finding] = []
        self.column = ""

    def fault(self, pointer: str, wrong: str) -> None:
        self.faults.append(Finding(pointer=pointer, column=self.column, text=wrong))

    def form(self, document: Any) -> Form | None:
        if not isinstance(document, Mapping):
            self.fault("", "a form is an object")
            return None
        self._known("", document, _FORM_KEYS)
        columns = self._columns(document.get("columns"))
        marks = Marks(
            decimal=self._one_of(document, "", "decimal_mark", (".", ","), "."),
            thousands=self._one_of(document, "", "thousands_mark", ("", ",", ".", " ", "'"), ""),
        )
        if marks.decimal == marks.thousands:
            self.fault("/thousands_mark", "thousands and decimals have one mark")
        form = Form(
            title=self._text(document, "", "title", needed=True),
            columns=columns,
            line_per_log=self._one_of(document, "", "one_line_per", ("class", "log"), "class") == "log",
            sort_by=self._sort_by(document.get("sort_by", []), columns),
            merge_equal=self._yes(document, "", "merge_equal"),
            above=self._lines(document, "above"),
            below=self._lines(document, "below"),
            marks=marks,
            delimiter=self._one_of(document, "", "delimiter", (",", ";", "\t"), ","),
        )
        if columns:
            self._whole(form)
        return form

    def _columns(self, given: Any) -> tuple[FormColumn, ...]:
        if not isinstance(given, list) or not 1 <= len(given) <= MOST_COLUMNS:
            self.fault("/columns", f"a form has 1 to {MOST_COLUMNS} columns")
            return ()
        columns = tuple(self._column(f"/columns/{i}", one) for i, one in enumerate(given))
        self.column = ""
        return columns

    def _column(self, at: str, given: Any) -> FormColumn:
        self.column = ""
        if not isinstance(given, Mapping):
            self.fault(at, "a column is an object")
            return FormColumn(heading="")
        self.column = str(given.get("heading", ""))[:LONGEST_TEXT]
        self._known(at, given, _COLUMN_KEYS)
        name = given.get("field", "")
        known = FIELDS.get(name) if isinstance(name, str) else None
        column = FormColumn(
            heading=self._text(given, at, "heading", needed=True),
            field=known.name if known else "",
            text=self._text(given, at, "text"),
            on=On(self._one_of(given, at, "on", tuple(On), known.on if known else On.ORDER)),
            unit=self._unit(given, at),
            fraction=self._number(given, at, "fraction", FRACTIONS),
            decimals=self._number(given, at, "decimals", range(MOST_DECIMALS + 1)),
            mark=self._yes(given, at, "mark"),
        )
        if name and known is None:
            self.fault(f"{at}/field", f"there is no field {str(name)[:40]!r}; known: {', '.join(FIELDS)}")
        elif known is None and "text" not in given:
            self.fault(f"{at}/field", "a column holds a field of ours or a fixed text")
        elif known is not None:
            self._column_of(at, given, column, known.kind)
            if "text" in given:
                self.fault(f"{at}/text", "a column holds a field or a fixed text, not both")
            if known.on is not On.BOTH and column.on is not known.on:
                self.fault(f"{at}/on", f"{known.name} stands on the {known.on} only")
        return column

    def _column_of(self, at: str, given: Mapping[str, Any], column: FormColumn, kind: Kind) -> None:
        is_length = kind in (Kind.ALONG, Kind.ACROSS)
        if is_length and "unit" not in given:
            self.fault(f"{at}/unit", f"a length needs its unit: {', '.join(Unit)}")
        for name in ("unit", "fraction", "mark"):
            if name in given and not is_length:
                self.fault(f"{at}/{name}", f"only a length has a {name}")
        if column.fraction and column.unit and column.unit not in (Unit.IN, Unit.FT_IN):
            self.fault(f"{at}/fraction", "a fraction is one of inches")
        if column.fraction and column.decimals is not None:
            self.fault(f"{at}/decimals", "a length is written with a fraction or with decimals, not both")
        if column.fraction and column.unit is Unit.FT_IN and not column.mark:
            self.fault(f"{at}/mark", "feet and inches need their marks")
        if column.decimals is not None and kind in (Kind.TEXT, Kind.WHOLE):
            self.fault(f"{at}/decimals", f"a {kind} has no decimals")
        if kind is Kind.MONEY and column.decimals is not None and column.decimals < 2:
            self.fault(f"{at}/decimals", "money is written to the cent at least")

    def _whole(self, form: Form) -> None:
        """What only the columns together can get wrong."""
        on_order = {one.field for one in form.order_columns}
        if "length_mm" not in on_order:
            self.fault("/columns", "an order needs a column for length_mm")
        if not form.line_per_log and "count" not in on_order:
            self.fault("/columns", "with one line per class an order needs a column for count")
        if form.line_per_log and form.merge_equal:
            self.fault("/merge_equal", "with one line per log nothing is counted together")
        headings: dict[str, int] = {}
        fields: dict[tuple[str, On], int] = {}
        for index, column in enumerate(form.columns):
            self.column, at = column.heading, f"/columns/{index}"
            if headings.setdefault(heading_key(column.heading), index) != index:
                self.fault(f"{at}/heading", "two columns have this heading")
            sides = (On.ORDER, On.TALLY) if column.on is On.BOTH else (column.on,)
            if column.field and any(
                fields.setdefault((column.field, side), index) != index for side in sides
            ):
                self.fault(f"{at}/field", f"two columns hold {column.field}")
        self.column = ""

    def _sort_by(self, given: Any, columns: tuple[FormColumn, ...]) -> tuple[str, ...]:
        if not isinstance(given, list) or not all(isinstance(one, str) for one in given):
            self.fault("/sort_by", "a list of fields")
            return ()
        there = {one.field for one in columns if one.on is not On.TALLY}
        for index, name in enumerate(given):
            if name not in there:
                self.fault(f"/sort_by/{index}", f"no column of the order holds {name[:40]!r}")
        return tuple(given)

    def _lines(self, document: Mapping[str, Any], name: str) -> tuple[FormLine, ...]:
        given = document.get(name, [])
        if not isinstance(given, list) or len(given) > MOST_LINES:
            self.fault(f"/{name}", f"a list of at most {MOST_LINES} lines")
            return ()
        return tuple(self._line(f"/{name}/{index}", one) for index, one in enumerate(given))

    def _line(self, at: str, given: Any) -> FormLine:
        if not isinstance(given, Mapping):
            self.fault(at, "a line is an object with a text, or a label and a field")
            return FormLine()
        self._known(at, given, _LINE_KEYS)
        field_name = given.get("field", "")
        if field_name and not (isinstance(field_name, str) and field_name in HEADER_FIELDS):
            self.fault(f"{at}/field", f"there is no field {str(field_name)[:40]!r}; known: {_HEADERS}")
        if bool(field_name) == ("text" in given):
            self.fault(at, "a line is a fixed text, or a label with a field")
        return FormLine(
            text=self._text(given, at, "text"), label=self._text(given, at, "label"), field=str(field_name)
        )

    def _known(self, at: str, given: Mapping[str, Any], names: set[str]) -> None:
        for name in given:
            if name not in names:
                self.fault(
                    f"{at}/{name}", f"there is no {str(name)[:40]!r} here; known: {', '.join(sorted(names))}"
                )

    def _text(self, given: Mapping[str, Any], at: str, name: str, *, needed: bool = False) -> str:
        text = given.get(name, "")
        if not isinstance(text, str) or len(text) > LONGEST_TEXT or any(c < " " for c in text):
            self.fault(f"{at}/{name}", f"a text on one line, at most {LONGEST_TEXT} characters")
            return ""
        if needed and not text.strip():
            self.fault(f"{at}/{name}", f"the {name} is missing")
        return text.strip()

    def _one_of(
        self, given: Mapping[str, Any], at: str, name: str, known: tuple[str, ...], usual: str
    ) -> str:
        value = given.get(name, usual)
        if value in known:
            return str(value)
        self.fault(f"{at}/{name}", f"one of {', '.join(repr(str(one)) for one in known)}")
        return usual

    def _unit(self, given: Mapping[str, Any], at: str) -> Unit | None:
        if "unit" not in given:
            return None
        unit = self._one_of(given, at, "unit", tuple(Unit), "")
        return Unit(unit) if unit else None

    def _number(
        self, given: Mapping[str, Any], at: str, name: str, known: tuple[int, ...] | range
    ) -> int | None:
        value = given.get(name)
        if value is None:
            return None
        if type(value) is int and value in known:
            return value
        self.fault(f"{at}/{name}", f"one of {', '.join(str(one) for one in known)}")
        return None

    def _yes(self, given: Mapping[str, Any], at: str, name: str) -> bool:
        value = given.get(name, False)
        if not isinstance(value, bool):
            self.fault(f"{at}/{name}", "true or false")
            return False
        return value


_HEADERS = ", ".join(HEADER_FIELDS)

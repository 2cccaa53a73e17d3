"""Writes SVG: elements with escaped text and attributes, and the root with title, description and scale."""

import math
import re
from dataclasses import dataclass
from xml.sax.saxutils import escape, quoteattr

Value = str | float | int | None
# What XML 1.0 cannot hold, even escaped: a remark pasted from anywhere may carry it.
_NOT_XML = re.compile("[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


class BadDrawing(ValueError):
    """What was to be drawn has no finite size or place."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SvgElement:
    """One element: a shape, a text, a group."""

    name: str
    attributes: tuple[tuple[str, str], ...]
    children: tuple["SvgElement | str", ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Box:
    """A rectangle of the drawing, in its own units; y grows downwards."""

    left: float
    top: float
    right: float
    bottom: float

    @property
    def width(self) -> float:
        return self.right - self.left

    @property
    def height(self) -> float:
        return self.bottom - self.top


def mark(name: str, *children: "SvgElement | str", **attributes: Value) -> SvgElement:
    """An element. `font_size` becomes `font-size`; attributes that are None are left out.

    Raises BadDrawing for a number that is not finite.
    """
    given = tuple(
        (key.replace("_", "-"), value if isinstance(value, str) else number(value))
        for key, value in attributes.items()
        if value is not None
    )
    return SvgElement(name=name, attributes=given, children=children)


def number(value: float) -> str:
    """A coordinate to the thousandth, without trailing zeros. Raises BadDrawing."""
    if not math.isfinite(value):
        raise BadDrawing(f"{value} is no place in a drawing")
    text = f"{value:.3f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def written(one: SvgElement | str) -> str:
    """An element, or a text, as SVG."""
    if isinstance(one, str):
        return escape(_sound(one))
    attributes = "".join(f" {key}={quoteattr(_sound(value))}" for key, value in one.attributes)
    if not one.children:
        return f"<{one.name}{attributes}/>"
    return f"<{one.name}{attributes}>{''.join(map(written, one.children))}</{one.name}>"


def _sound(text: str) -> str:
    return _NOT_XML.sub("\ufffd", text)


def document(
    *, key: str, title: str, desc: str, view: Box, scale: float, marks: list[SvgElement], font: str
) -> str:
    """A whole drawing: one unit is one mm of the thing drawn, printed 1 to `scale`.

    `title` and `desc` are what a screen reader says of it; `key` keeps ids apart on one page.
    """
    root = mark(
        "svg",
        mark("title", title, id=f"{key}-title"),
        mark("desc", desc, id=f"{key}-desc"),
        *marks,
        xmlns="http://www.w3.org/2000/svg",
        role="img",
        aria_labelledby=f"{key}-title {key}-desc",
        viewBox=" ".join(number(n) for n in (view.left, view.top, view.width, view.height)),
        width=f"{number(view.width / scale)}mm",
        height=f"{number(view.height / scale)}mm",
        font_family=font,
    )
    return f'<?xml version="1.0" encoding="UTF-8"?>\n{written(root)}\n'

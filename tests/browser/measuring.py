"""Measures a drawing as the browser lays it out: where marks come to lie, units and transforms included."""

import re
from dataclasses import dataclass
from typing import Any

from playwright.sync_api import Page

PX_PER_PAPER_MM = 96 / 25.4

# Every mark that a test may ask for, with its corners in px of the window.
_MARKS = """() => {
  const at = (e, x, y) => {
    const p = new DOMPoint(x, y).matrixTransform(e.getScreenCTM());
    return [p.x, p.y];
  };
  const corners = (e) => {
    if (e.points) return [...e.points].map((p) => at(e, p.x, p.y));
    if (e.x1) return [[e.x1, e.y1], [e.x2, e.y2]].map(([x, y]) => at(e, x.baseVal.value, y.baseVal.value));
    const { x, y, width, height } = e.getBBox();
    return [at(e, x, y), at(e, x + width, y + height)];
  };
  return [...document.querySelectorAll("polygon, line, circle, rect, text")].map((e) => ({
    kind: e.localName, data: { ...e.dataset }, text: e.textContent, corners: corners(e),
    fill: e.getAttribute("fill"), dash: e.getAttribute("stroke-dasharray"),
    view: e.closest("[data-view]")?.dataset.view ?? "",
    group: e.parentNode.querySelector(":scope > title")?.textContent ?? "",
  }));
}"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Mark:
    """One mark of a drawing; corners in px of the window, y downwards."""

    kind: str
    data: dict[str, str]
    text: str
    corners: list[list[float]]
    fill: str | None
    dash: str | None
    view: str
    group: str

    @property
    def top(self) -> float:
        return min(y for _, y in self.corners)

    @property
    def bottom(self) -> float:
        return max(y for _, y in self.corners)

    @property
    def left(self) -> float:
        return min(x for x, _ in self.corners)

    @property
    def right(self) -> float:
        return max(x for x, _ in self.corners)

    def top_at(self, x: float) -> float:
        """The upper edge of a polygon at `x`: of all its edges that pass there the highest."""
        crossed = []
        ends = [*self.corners[1:], self.corners[0]]
        for (x0, y0), (x1, y1) in zip(self.corners, ends, strict=True):
            if min(x0, x1) - 1e-6 <= x <= max(x0, x1) + 1e-6 and x0 != x1:
                crossed.append(y0 + (y1 - y0) * (x - x0) / (x1 - x0))
        return min(crossed)


def marks(page: Page) -> list[Mark]:
    found: list[dict[str, Any]] = page.evaluate(_MARKS)
    return [Mark(**one) for one in found]


def px_per_mm(page: Page) -> float:
    """Pixels to a millimetre of the building, by the scale that the drawing states for its print."""
    [stated] = re.findall(r"\b1 : (\d+)", page.locator("svg").text_content() or "")
    return PX_PER_PAPER_MM / int(stated)

"""What is asked of every page: axe's findings, sizes of targets, what is cut off, what the focus hides."""

import json
from typing import Any

from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page

TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]
_ASKED = json.dumps({"runOnly": {"type": "tag", "values": TAGS}, "resultTypes": ["violations"]})
_AXE = Axe()

# Everything that is clicked or tapped, as large as a finger meets it: a box that is ticked with its label.
# Not: links in a line of text, and the logs of a drawing, which a button in the table beside it stands for.
_TARGETS = """() => {
  const seen = (e) => e.checkVisibility({ visibilityProperty: true }) && e.getClientRects().length;
  const inText = (e) => e.matches("a:not(.button)") && getComputedStyle(e).display === "inline"
    && [...e.parentNode.childNodes].some((n) => n.nodeType === 3 && n.textContent.trim());
  const kinds = "a[href]:not(.skip), button, input, select, textarea, summary, [role=button]:not(svg *)";
  return [...document.querySelectorAll(kinds)].filter((e) => seen(e) && !inText(e)).map((e) => {
    const ticked = e.matches("[type=checkbox], [type=radio]") && e.closest("label");
    const { width, height } = (ticked || e).getBoundingClientRect();
    const thumb = e.matches("button, .button, select, summary, nav a, input");
    return { what: e.outerHTML.slice(0, 90), thumb, width: Math.round(width), height: Math.round(height) };
  });
}"""

# Give the focus to one after the other, as Tab does, and see whether anything of it can be seen.
_HIDDEN_FOCUS = """() => {
  const parts = [0.1, 0.5, 0.9];
  const seen = (e) => {
    const box = e.getBoundingClientRect();
    return parts.some((x) => parts.some((y) => {
      const top = document.elementFromPoint(box.left + x * box.width, box.top + y * box.height);
      return top && (e.contains(top) || top.contains(e));
    }));
  };
  const hidden = [];
  for (const e of document.querySelectorAll("a[href], button, input, select, summary, [tabindex='0']")) {
    if (!e.checkVisibility() || e.disabled || e.closest("svg")) continue;
    e.focus();
    if (document.activeElement === e && !seen(e)) hidden.push(e.outerHTML.slice(0, 120));
  }
  document.activeElement?.blur();
  return hidden;
}"""

_BEYOND_THE_EDGE = """() => {
  const root = document.documentElement;
  if (root.scrollWidth <= root.clientWidth) return [];
  const wide = (e) => e.getBoundingClientRect().right > root.clientWidth + 1;
  const found = [...document.querySelectorAll("main *, header *, nav *")].filter(wide);
  return [`${root.scrollWidth} px`, ...found.slice(0, 3).map((e) => e.outerHTML.slice(0, 90))];
}"""


def findings(page: Page) -> list[str]:
    """What axe finds against WCAG 2.2 A and AA, of whatever impact."""
    page.evaluate(_AXE.axe_script)
    told: Any = page.evaluate(f"axe.run({_ASKED})")
    return [
        f"{one['impact']} {one['id']}: {node['html'][:160]} {node['failureSummary']}"
        for one in told["violations"]
        for node in one["nodes"]
    ]


def too_small(page: Page, *, least_px: int = 24, buttons_px: int = 44) -> list[str]:
    """Targets under 24 px either way, and buttons and fields less high than a thumb needs."""
    told = []
    for one in page.evaluate(_TARGETS):
        size = f"{one['width']} x {one['height']} px: {one['what']}"
        if min(one["width"], one["height"]) < least_px:
            told.append(f"too small to hit, {size}")
        elif one["thumb"] and one["height"] < buttons_px:
            told.append(f"too low for a thumb, {size}")
    return told


def hidden_when_focused(page: Page) -> list[str]:
    """What takes the focus and cannot be seen then, behind something that stays in its place."""
    return [f"hidden when it has the focus: {what}" for what in page.evaluate(_HIDDEN_FOCUS)]


def cut_off(page: Page, *, width: int) -> list[str]:
    """What a window of this width can only show by scrolling the page sideways."""
    page.set_viewport_size({"width": width, "height": 640})
    return [f"wider than {width} px: {what}" for what in page.evaluate(_BEYOND_THE_EDGE)]

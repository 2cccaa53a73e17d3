"""A page used with the keyboard alone."""

from playwright.sync_api import Page

_AT = "(wanted) => document.activeElement?.matches(wanted) ?? false"
_RING = """() => {
  const look = getComputedStyle(document.activeElement);
  return look.outlineStyle !== "none" && parseFloat(look.outlineWidth) >= 2;
}"""


def tab_to(page: Page, wanted: str, *, most: int = 60) -> None:
    """Press Tab until the focus is on what is wanted."""
    for _ in range(most):
        if page.evaluate(_AT, wanted):
            return
        page.keyboard.press("Tab")
    raise AssertionError(f"{most} presses of Tab do not lead to {wanted}")


def rings_seen(page: Page) -> bool:
    """Whether what has the focus is ringed, 2 px or more."""
    return bool(page.evaluate(_RING))

"""What any page must hold to on a phone: nothing stands beside the screen, what is pressed is large enough and lies bare.

Sources: WCAG 2.2, success criteria 1.4.10 (reflow) and 2.5.8 (targets of 24 CSS pixels at the least), from memory.
"""

from support_hand import PHONE, Hand

__all__ = ["must_fit"]

LEAST_TARGET = 24

# What is wider than the screen, unless it scrolls in a box of its own.
_BESIDE = """width => document.documentElement.scrollWidth <= width ? [] : [...document.querySelectorAll("body *")]
  .filter(element => element.getBoundingClientRect().right > width + 0.5 && !element.closest(".scroll"))
  .map(element => element.outerHTML.slice(0, 90))"""

# Buttons and what looks like one, and the places of the bar; each scrolled to, measured, and touched in its middle.
_BAD_TARGETS = """([width, least]) => [...document.querySelectorAll("main button, main a.button, nav.places a")]
  .filter(element => element.checkVisibility())
  .map(element => {
    element.scrollIntoView({block: "center", behavior: "instant"})
    const box = element.getBoundingClientRect()
    const hit = document.elementFromPoint(box.x + box.width / 2, box.y + box.height / 2)
    const isBare = hit !== null && (element.contains(hit) || element.disabled)
    const isWhole = box.left >= 0 && box.right <= width
    const isLarge = box.width >= least && box.height >= least
    return [isBare && isWhole && isLarge, `${element.innerText} ${box.width} × ${box.height} at ${box.x}`]
  })
  .filter(([isGood]) => !isGood).map(([, words]) => words)"""


def must_fit(hand: Hand) -> None:
    """Fail where the page that a hand on a phone looks at does not fit, naming what stands out."""
    width = PHONE["viewport"]["width"]
    assert hand.page.evaluate("document.documentElement.scrollWidth") <= width, hand.page.evaluate(_BESIDE, width)
    assert not hand.page.evaluate(_BAD_TARGETS, [width, LEAST_TARGET])

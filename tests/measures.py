"""Measuring a screen: sizes of targets, contrast of every text, sideways scroll, what axe-core finds."""

from typing import Any

from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page

TARGETS = """() => [...document.querySelectorAll("#bay :is(a, button, input, select, textarea, summary)")]
  .filter((node) => node.checkVisibility()).map((node) => {
    const {width, height} = node.getBoundingClientRect();
    return {name: node.textContent.trim().slice(0, 40) || node.id, w: width, h: height, kind: node.localName};
  })"""
"""Every target with its size in CSS px."""

# Contrast as WCAG 2.2 defines it (relative luminance, https://www.w3.org/TR/WCAG22/#dfn-relative-luminance).
CONTRASTS = """(root) => {
  const parts = (colour) => colour.match(/[\\d.]+/g).map(Number);
  const linear = (c) => c <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4;
  const light = ([r, g, b]) => 0.2126 * linear(r / 255) + 0.7152 * linear(g / 255) + 0.0722 * linear(b / 255);
  const ground = (node) => {
    for (let at = node; at; at = at.parentElement) {
      const rgb = parts(getComputedStyle(at).backgroundColor);
      if (rgb.length < 4 || rgb[3] > 0) return rgb;
    }
    return [255, 255, 255];
  };
  const walker = document.createTreeWalker(document.querySelector(root), NodeFilter.SHOW_TEXT);
  const found = [];
  while (walker.nextNode()) {
    const node = walker.currentNode.parentElement;
    if (!walker.currentNode.data.trim() || !node.checkVisibility() || node.closest("svg")) continue;
    const style = getComputedStyle(node);
    const [a, b] = [light(parts(style.color)), light(ground(node))].sort((x, y) => y - x);
    const text = walker.currentNode.data.trim().slice(0, 40);
    found.push({text, ratio: (a + 0.05) / (b + 0.05), size: parseFloat(style.fontSize)});
  }
  return found;
}"""
"""Every visible text with its contrast and its size in CSS px."""


def small_targets(page: Page, least: float) -> list[Any]:
    """Targets under *least* px in width or height."""
    return [t for t in page.evaluate(TARGETS) if t["h"] < least - 0.5 or t["w"] < least - 0.5]


def weak_texts(page: Page, root: str = "#bay", least: float = 16) -> list[Any]:
    """Texts inside *root* under 7:1, or under *least* px."""
    return [t for t in page.evaluate(CONTRASTS, root) if t["ratio"] < 7 or t["size"] < least]


def too_wide(page: Page) -> float:
    """How many px the page scrolls sideways."""
    return float(page.evaluate("() => document.documentElement.scrollWidth - document.documentElement.clientWidth"))


AXE = """() => axe.run({rules: {"color-contrast": {enabled: false}}, resultTypes: ["violations"]})
  .then((found) => found.violations.map((rule) => `${rule.id}: ${rule.nodes[0].html.slice(0, 120)}`))"""
"""Its rule for contrast, by far the slowest and laxer (4.5:1), is left to `weak_texts`."""


def axe(page: Page) -> list[str]:
    """What axe-core finds, each rule with the first place."""
    if not page.evaluate("() => 'axe' in window"):
        page.evaluate(Axe().axe_script)
    found: list[str] = page.evaluate(AXE)
    return found

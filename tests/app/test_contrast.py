"""The page's own palette against WCAG 2.2, success criterion 1.4.3: text at 4.5:1 or more.

The relative luminance and the ratio are those of WCAG 2.2, "relative luminance" and "contrast
ratio"; https://www.w3.org/TR/WCAG22/#dfn-contrast-ratio.
"""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

import pytest

from app.look import CSS

THEME = tomllib.loads(
    (Path(__file__).parents[2] / "app" / ".streamlit" / "config.toml").read_text(encoding="utf-8")
)["theme"]
PAIRS = [
    ("textColor", "backgroundColor"),
    ("textColor", "secondaryBackgroundColor"),
    ("linkColor", "backgroundColor"),
    *((f"{hue}TextColor", f"{hue}BackgroundColor") for hue in ("blue", "yellow", "red", "green")),
]
# Those that the rules of look.py set in words: light-dark(light, dark).
IN_RULES = re.findall(r"[^-]color: light-dark\((#\w{6}), (#\w{6})\)", CSS)


def luminance(color: str) -> float:
    parts = [int(color[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    high, low = sorted((luminance(one), luminance(other)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def test_the_ratio_is_that_of_the_standard():
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)
    # The grey that is known as the lightest that passes on white (from memory).
    assert contrast("#767676", "#ffffff") == pytest.approx(4.54, abs=0.005)


@pytest.mark.parametrize("mode", ["light", "dark"])
@pytest.mark.parametrize(("text", "ground"), PAIRS)
def test_text_of_the_theme_can_be_read(mode: str, text: str, ground: str):
    assert contrast(THEME[mode][text], THEME[mode][ground]) >= 4.5


@pytest.mark.parametrize("mode", ["light", "dark"])
def test_white_on_a_button_can_be_read(mode: str):
    assert contrast("#ffffff", THEME[mode]["primaryColor"]) >= 4.5


def test_colors_of_the_rules_can_be_read():
    assert len(IN_RULES) >= 5, "the pattern no longer finds the rules"
    for light, dark in IN_RULES:
        for ground in ("backgroundColor", "secondaryBackgroundColor"):
            assert contrast(light, THEME["light"][ground]) >= 4.5, light
            assert contrast(dark, THEME["dark"][ground]) >= 4.5, dark

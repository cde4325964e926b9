"""The family's colours: words 7:1 or more, marks 3:1 or more.

Source: W3C WCAG 2.2, "contrast ratio" and "relative luminance", success criteria
1.4.6 (7:1) and 1.4.11 (3:1). Check values: black on white 21:1; #595959 on white
7.00:1; #767676 on white 4.54:1.
"""

from __future__ import annotations

import re

import pytest

from cuegen.resources import templates_dir

STYLES = ("look.css", "sheet.css", "report.css")


def luminance(colour: str) -> float:
    def linear(part: str) -> float:
        share = int(part, 16) / 255
        return share / 12.92 if share <= 0.04045 else ((share + 0.055) / 1.055) ** 2.4

    red, green, blue = (linear(colour[i : i + 2]) for i in (1, 3, 5))
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def style(name: str) -> str:
    return (templates_dir() / name).read_text(encoding="utf-8")


def colours() -> dict[str, str]:
    return dict(re.findall(r"--([a-z]+): (#[0-9a-f]{6});", style("look.css")))


@pytest.mark.parametrize(
    ("colour", "ratio"), [("#000000", 21.0), ("#595959", 7.0), ("#767676", 4.54)]
)
def test_the_measure_of_contrast_meets_known_values(colour: str, ratio: float) -> None:
    assert contrast(colour, "#ffffff") == pytest.approx(ratio, abs=0.01)


@pytest.mark.parametrize("name", ["ink", "soft", "river", "flag"])
def test_colours_of_words_stand_out_seven_to_one(name: str) -> None:
    assert contrast(colours()[name], colours()["paper"]) >= 7


def test_lines_stand_out_three_to_one() -> None:
    assert contrast(colours()["line"], colours()["paper"]) >= 3


@pytest.mark.parametrize("name", STYLES)
def test_styles_name_colours_of_the_family_only(name: str) -> None:
    uses = re.findall(r"(?<![-\w])(?:color|fill|background|stroke): ([^;}]+)", style(name))
    assert {use.strip() for use in uses} <= {"none", *(f"var(--{c})" for c in colours())}
    assert re.findall(r"#[0-9a-fA-F]{3,8}\b", style(name)) == (
        list(colours().values()) if name == "look.css" else []
    )


def test_the_colour_of_lines_is_never_that_of_words() -> None:
    words = re.findall(r"(?<![-\w])color: var\(--([a-z]+)\)", "".join(map(style, STYLES)))
    assert set(words) == {"ink", "soft", "river", "flag"}


@pytest.mark.parametrize("name", STYLES)
def test_styles_ask_for_nothing(name: str) -> None:
    assert "url(" not in style(name)
    assert "@import" not in style(name)

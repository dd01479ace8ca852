"""Charts: specifications that are valid Vega-Lite, hold the answer's numbers, and draw to SVG."""

from __future__ import annotations

import json
import sys
import xml.etree.ElementTree as ET

import pytest

from linewright.answer.model import Answer
from linewright.report import charts, drawing
from linewright.report.palette import DARK, LIGHT


def rows(answer: Answer, name: str) -> list[dict[str, object]]:
    found = charts.charts(answer)[name].spec["data"]["values"]
    assert isinstance(found, list)
    return found


def test_every_chart_is_made(given: Answer) -> None:
    assert set(charts.charts(given)) == {"mass", "bounds", "stations", "crews", "cost", "faults"} - (
        set() if given.network.crews.ids else {"crews"}
    )


def test_specifications_are_plain_json(given: Answer) -> None:
    for chart in charts.charts(given).values():
        assert json.loads(json.dumps(chart.spec, allow_nan=False)) == chart.spec


def test_bars_of_a_station_add_up_to_its_use(given: Answer) -> None:
    for resource in given.capacity.resources:
        if resource.kind != "station":
            continue
        found = [row for row in rows(given, "stations") if row["name"] == resource.id.replace("_", " ")]
        assert sum(float(str(row["hours"])) for row in found) == pytest.approx(resource.hours.total, abs=1e-3)
        share = 100 * resource.hours.total / resource.available
        assert sum(float(str(row["share"])) for row in found) == pytest.approx(share, abs=0.01)


def test_parts_of_cost_add_up_to_the_total(given: Answer) -> None:
    total = sum(float(str(row["money"])) for row in rows(given, "cost"))
    assert total == pytest.approx(given.cost.products[0].total, abs=0.01)


def test_items_of_unknown_mass_are_left_out(given: Answer) -> None:
    assert all(float(str(row["kg"])) > 0 for row in charts._masses(given))
    assert not any("board" in str(row["name"]) for row in charts._masses(given))


def test_charts_draw_and_follow_the_page(given: Answer) -> None:
    pytest.importorskip("vl_convert", reason="drawing needs the extra charts")
    for chart in charts.charts(given).values():
        picture = drawing.to_svg(chart.spec)
        assert ET.fromstring(picture).tag.endswith("svg")
        assert "var(--lw-" in picture
        assert drawing.to_png(chart.spec).startswith(b"\x89PNG")


def test_script_text_cannot_end_its_element() -> None:
    text = drawing.script_text({"name": "</script><!-- \u2028"})
    assert "<" not in text
    assert json.loads(text) == {"name": "</script><!-- \u2028"}


def luminance(colour: str) -> float:
    parts = [int(colour[k : k + 2], 16) / 255 for k in (1, 3, 5)]
    red, green, blue = (p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    """Contrast ratio of WCAG 2.2, definition "contrast ratio": (L1 + 0.05) / (L2 + 0.05)."""
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def test_contrast_formula_on_black_and_white() -> None:
    assert contrast("#ffffff", "#000000") == pytest.approx(21.0)  # WCAG 2.2: ratios run from 1 to 21


@pytest.mark.parametrize("palette", [LIGHT, DARK], ids=["light", "dark"])
def test_text_has_the_contrast_that_wcag_asks(palette: dict[str, str]) -> None:
    """WCAG 2.2 success criterion 1.4.3: 4.5 to 1 for text, 1.4.11: 3 to 1 for the outlines of symbols."""
    for ground in ("paper", "card", "faint"):
        for text in ("ink", "soft", "accent", "bad", "good"):
            assert contrast(palette[text], palette[ground]) >= 4.5, (text, ground)
    for kind in ("operation", "inspection", "transport", "delay", "storage"):
        assert contrast(palette[kind], palette["paper"]) >= 3.0, kind
        assert contrast(palette["ink"], palette[f"{kind}-fill"]) >= 4.5, kind
    for line in ("wire", "rework", "recycle", "limit"):
        assert contrast(palette[line], palette["paper"]) >= 3.0, line


def test_both_palettes_name_the_same_colours() -> None:
    assert set(LIGHT) == set(DARK)


def test_charts_drawn_apart_are_those_drawn_here(given: Answer, monkeypatch: pytest.MonkeyPatch) -> None:
    if not drawing.can_draw():
        pytest.skip("the extra charts is not installed")
    made = dict(list(charts.charts(given).items())[:3])
    apart = drawing.drawn(made)
    assert apart == {name: drawing.to_svg(chart.spec) for name, chart in made.items()}
    monkeypatch.setattr(sys, "executable", "")
    assert drawing.drawn(made) == apart
    monkeypatch.setattr(sys, "executable", "/nowhere/python")
    assert drawing.drawn(made) == apart

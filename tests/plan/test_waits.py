"""Windows in a plan: every problem by name."""

from __future__ import annotations

from typing import Any

import pytest

from linewright.base.problems import ProblemsError
from linewright.network import compile_network
from linewright.plan import PlanBuilder


def plan(wait: object, **between: Any) -> PlanBuilder:
    builder = PlanBuilder("Glued", makes="thing", demand="10 each/day").item("thing", unit="each")
    builder.item("other", unit="each").route("q", gives="other").operation("elsewhere", time="1 min")
    route = builder.route("r", gives="thing").operation("cut", time="1 min").operation("glue", time="2 min")
    route.operation("lay", **{"time": "3 min", **between}).operation("press", time="5 min", wait=wait)
    return builder


def problems(builder: PlanBuilder) -> list[tuple[str, str]]:
    with pytest.raises(ProblemsError) as raised:
        compile_network(builder.build())
    return [(p.path, p.what) for p in raised.value.errors] if hasattr(raised.value, "errors") else [
        (p.path, p.what) for p in raised.value.problems if p.level.value == "error"
    ]  # fmt: skip


WAIT = "routes.r.operations[3].wait"


@pytest.mark.parametrize(
    ("wait", "path", "said"),
    [
        ({"after": "glue"}, WAIT, "a window needs `least`, `most` or both"),
        ({"after": "glue", "least": "9 min", "most": "8 min"}, WAIT, "the window closes before it opens"),
        ({"after": "glue", "least": "9 min", "else": "scrap"}, f"{WAIT}.else", "nothing ever closes this window"),
        ({"most": "9 min"}, f"{WAIT}.after", "a window needs `after`"),
        ({"after": "glu", "most": "9 min"}, f"{WAIT}.after", 'no operation is called "glu"'),
        ({"after": "press", "most": "9 min"}, f"{WAIT}.after", 'after "press", which does not come before it'),
        ({"after": "elsewhere", "most": "9 min"}, f"{WAIT}.after", 'after "elsewhere", which is in another route'),
        ({"after": "glue", "most": "9 min", "else": {"rework": "glue"}}, f"{WAIT}.else", "a rework that never ends"),
        (
            {"after": "glue", "most": "9 min", "else": {"rework": "lay", "at_most": 1}},
            f"{WAIT}.else.rework",
            '"lay" comes after "glue": sent back there the window would stay closed',
        ),
        ({"after": "glue", "most": "soon"}, f"{WAIT}.most", ""),
        ({"after": "glue", "most": "9 min", "long": 1}, f"{WAIT}.long", "a window has no field `long`"),
    ],
)
def test_bad_windows_are_told_by_name(wait: dict[str, Any], path: str, said: str) -> None:
    found = problems(plan(wait))
    assert found[0][0] == path
    assert said in found[0][1]


def test_a_window_that_can_never_be_met() -> None:
    """Three minutes and a stand of ten lie between, and it closes after twelve."""
    found = problems(plan({"after": "glue", "most": "12 min"}, stand="10 min"))
    assert found == [
        (
            f"{WAIT}.most",
            'the window of "press" can never be met: between it and "glue" lies "lay" with 13 min at least, '
            "and it closes after 12 min",
        )
    ]
    assert compile_network(plan({"after": "glue", "most": "13 min"}, stand="10 min").build()).windows.most.tolist() == [
        13 * 60 * 10**9
    ]


def test_the_balance_says_that_it_takes_windows_as_met() -> None:
    network = compile_network(plan({"after": "glue", "most": "30 min"}).build())
    assert any("every piece begins press before its window closes" in said for said in network.assumptions)

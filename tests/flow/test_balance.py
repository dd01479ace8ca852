"""The material balance of small plans whose answer can be told by hand."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from linewright.base.problems import ProblemsError
from linewright.flow import Flow

Solve = Callable[..., Flow]


def amount(flow: Flow, field: str, item: str) -> float:
    return float(getattr(flow, field)[flow.items.index(item)])


def runs(flow: Flow, operation: str) -> float:
    return float(flow.runs[flow.operations.index(operation)])


def closes(flow: Flow) -> None:
    """What comes in goes out, for every item and every operation of known masses."""
    comes = flow.bought + flow.made
    goes = flow.delivered + flow.used + flow.sold + flow.disposed + flow.left_over
    assert goes == pytest.approx(comes, rel=1e-10, abs=1e-10)
    known = np.isfinite(flow.mass_in) & np.isfinite(flow.mass_out)
    assert flow.mass_out[known] == pytest.approx(flow.mass_in[known], rel=1e-9)


MILL = """
[items.chips]
unit = "t"
buy = "90 EUR"
[items.oversize]
unit = "t"
[items.fines]
unit = "t"
[routes.mill]
gives = "fines"
[[routes.mill.operations]]
id = "mill"
time = { rate = "2 t/h" }
takes = { feed = { any_of = ["oversize", "chips"], amount = "1 t" } }
[[routes.mill.operations]]
id = "screen"
time = { rate = "5 t/h" }
gives = { fines = "rest", oversize = "20 %" }
loses = { dust = "5 %" }
"""


def test_oversize_goes_round(flow: Solve) -> None:
    """7.5 t fines a day: 10 t through the mill, of which 2 t oversize and so 8 t chips; 0.5 t dust."""
    solved = flow("fines", "7.5 t/day", MILL)
    assert amount(solved, "bought", "chips") == pytest.approx(8000)
    assert amount(solved, "going_round", "oversize") == pytest.approx(2000)
    assert amount(solved, "left_over", "oversize") == 0
    assert solved.lost == pytest.approx([500])
    assert solved.mass_in == pytest.approx([10000, 10000])
    assert solved.choice_mix[0] == pytest.approx([0.2, 0.8])
    assert solved.honesty.status == "optimal"
    closes(solved)


def test_a_dryer_names_its_water(flow: Solve) -> None:
    """1 t at 80 % moisture (dry basis) has 1/1.8 t dry; at 6 % it weighs 1.06/1.8 t and 0.74/1.8 t of water is gone."""
    solved = flow(
        "dry",
        "1.06 t/day",
        """
[items.wet]
unit = "t"
buy = "40 EUR"
moisture = "80 %"
[items.dry]
unit = "t"
moisture = "6 %"
[routes.dry]
gives = "dry"
[[routes.dry.operations]]
id = "dry"
time = { rate = "1 t/h" }
takes = { wet = "1 t" }
gives = { dry = "rest" }
loses = { water = "rest" }
""",
    )
    assert amount(solved, "bought", "wet") == pytest.approx(1800)
    assert solved.losses == ("water",)
    assert solved.lost == pytest.approx([740])
    closes(solved)


def test_a_dryer_without_its_water_is_named(flow: Solve) -> None:
    with pytest.raises(ProblemsError, match=r"operations\[0\].*water does not balance"):
        flow(
            "dry",
            "1 t/day",
            """
[items.wet]
unit = "t"
buy = "40 EUR"
moisture = "80 %"
[items.dry]
unit = "t"
moisture = "6 %"
[routes.dry]
gives = "dry"
[[routes.dry.operations]]
id = "dry"
time = { rate = "1 t/h" }
takes = { wet = "1 t" }
gives = { dry = "rest" }
""",
        )


SHEETS = """
[items.sheet]
unit = "sheet"
buy = "20 EUR"
mass = "12 kg"
[items.side]
unit = "side"
mass = "0.9 kg"
[items.offcut]
unit = "kg"
sell = "0.1 EUR"
[items.box]
unit = "box"
[routes.side]
gives = "side"
[[routes.side.operations]]
id = "saw"
time = "3 min"
takes = { sheet = 1 }
gives = { side = 12, offcut = "rest" }
yield = "98 %"
[[routes.side.operations]]
id = "drill"
time = "20 s"
yield = "95 %"
[routes.box]
gives = "box"
[[routes.box.operations]]
id = "fit"
time = "6 min"
takes = { side = 4 }
"""


def test_a_sheet_becomes_twelve_sides(flow: Solve) -> None:
    solved = flow("box", "100 box/day", SHEETS)
    sheets = 400 / 0.95 / 12 / 0.98
    assert amount(solved, "bought", "sheet") == pytest.approx(sheets)
    assert runs(solved, "saw") == pytest.approx(sheets)
    assert runs(solved, "drill") == pytest.approx(400 / 0.95)
    assert amount(solved, "sold", "offcut") == pytest.approx(sheets * (12 - 12 * 0.9))
    assert {(solved.operations[s.operation], s.reason) for s in solved.scrap} == {("saw", "yield"), ("drill", "yield")}
    assert sum(s.kg for s in solved.scrap) == pytest.approx(sheets * 0.02 * 10.8 + 400 / 0.95 * 0.05 * 0.9)
    closes(solved)


def test_mass_of_a_made_item_is_found_along_its_route(flow: Solve) -> None:
    solved = flow("box", "100 box/day", SHEETS)
    assert solved.mass_in[solved.operations.index("fit")] == pytest.approx(100 * 4 * 0.9)


TWO_MAKERS = """
[items.bar]
unit = "each"
buy = "{bar} EUR"
[items.rod]
unit = "each"
buy = "{rod} EUR"
[items.pin]
unit = "each"
[routes.from_bar]
gives = "pin"
{bar_extra}
[[routes.from_bar.operations]]
id = "turn_bar"
takes = {{ bar = 1 }}
time = "1 min"
[routes.from_rod]
gives = "pin"
{rod_extra}
[[routes.from_rod.operations]]
id = "turn_rod"
takes = {{ rod = 1 }}
time = "1 min"
"""


@pytest.mark.parametrize(
    ("bar", "rod", "bar_extra", "rod_extra", "expected"),
    [
        (1, 2, "", "", (1.0, 0.0)),  # least direct cost
        (2, 1, "", "", (0.0, 1.0)),
        (1, 1, "", "", (0.5, 0.5)),  # a tie is split equally
        (2, 1, "prefer = 1", "prefer = 2", (1.0, 0.0)),  # preference goes before cost
        (2, 1, 'share = "30 %"', "", (0.3, 0.7)),  # a declared share goes before all
        (1, 2, 'share = "30 %"', 'share = "70 %"', (0.3, 0.7)),
    ],
)
def test_makers_are_chosen(
    flow: Solve, bar: int, rod: int, bar_extra: str, rod_extra: str, expected: tuple[float, float]
) -> None:
    text = TWO_MAKERS.format(bar=bar, rod=rod, bar_extra=bar_extra, rod_extra=rod_extra)
    solved = flow("pin", "200 each/day", text)
    assert solved.mix == pytest.approx(expected, abs=1e-9)
    assert solved.started.sum() == pytest.approx(200)
    closes(solved)


def test_setup_and_cleaning_take_parts(flow: Solve) -> None:
    """Per piece, per load of 8, per 20 pieces, per load, and twice a day at two places: all in one item."""
    solved = flow(
        "cup",
        "80 each/day",
        """
[items.cup]
unit = "each"
[items.soap]
unit = "L"
buy = "3 EUR"
[stations.kiln]
places = 2
[routes.cup]
gives = "cup"
[[routes.cup.operations]]
id = "fire"
station = "kiln"
time = "1 h"
load = 8
takes = { soap = "1 L" }
takes_per_load = { soap = "4 L" }
setup = { time = "5 min", every = 20, takes = { soap = "2 L" } }
clean = { after = "day", time = "5 min", takes = { soap = "6 L" } }
""",
    )
    assert amount(solved, "used", "soap") == pytest.approx(80 + 10 * 4 + 4 * 2 + 2 * 6)
    assert solved.cycles == pytest.approx([10])
    closes(solved)


START = """
[items.cup]
unit = "each"
[items.clay]
unit = "kg"
buy = "1 EUR"
[stations.press]
places = 2
[routes.cup]
gives = "cup"
[[routes.cup.operations]]
id = "form"
station = "press"
crew = { hand = 1 }
time = "30 s"
takes = { clay = "0.5 kg" }
[[routes.cup.operations]]
id = "press"
station = "press"
crew = { hand = 1 }
time = "30 s"
start = { scrap = 3, after = "shift" }
"""


def test_start_up_scrap_does_not_grow_with_the_demand(flow: Solve) -> None:
    """Two places lose 3 pieces each at the start of the one shift of a day."""
    for demand in (100, 1000):
        solved = flow("cup", f"{demand} each/day", START)
        assert solved.started == pytest.approx([demand + 6])
        assert [(s.reason, pytest.approx(6)) for s in solved.scrap] == [("start-up", s.pieces) for s in solved.scrap]
        closes(solved)


def test_start_ups_may_scrap_more_than_is_wanted(flow: Solve) -> None:
    solved = flow("cup", "100 each/day", START.replace("scrap = 3", "scrap = 200"))
    assert solved.started == pytest.approx([500])


def test_stoppages_scrap_with_the_running_time(flow: Solve) -> None:
    """30 s a piece and 10 min between stoppages: 0.05 start-ups a piece, 3 pieces each: 15 % of what comes by."""
    text = START.replace("places = 2", 'places = 2\nbetween_stops = "10 min"\nrepair = "1 min"')
    solved = flow("cup", "100 each/day", text.replace('"shift"', '"stop"'))
    assert solved.started == pytest.approx([100 / 0.85])


def test_start_ups_that_eat_everything_are_a_problem(flow: Solve) -> None:
    text = START.replace("places = 2", 'places = 2\nbetween_stops = "1 min"\nrepair = "1 min"')
    with pytest.raises(ProblemsError, match="scraps more at the start-up"):
        flow("cup", "100 each/day", text.replace('"shift"', '"stop"'))


SECONDS = """
[items.mug]
unit = "each"
[items.second]
unit = "each"
sell = "1 EUR"
[items.blank]
unit = "each"
buy = "2 EUR"
[routes.mug]
gives = "mug"
[[routes.mug.operations]]
id = "throw"
time = "2 min"
takes = { blank = 1 }
faults = { spot = "10 %", crack = "4 %" }
[[routes.mug.operations]]
id = "look"
time = "10 s"
[routes.mug.operations.check]
finds = { spot = "100 %", crack = "50 %" }
then = { spot = { seconds = "second" }, crack = "scrap" }
"""


def test_seconds_scrap_and_escapes(flow: Solve) -> None:
    """A found crack (gravest) scraps, then a spot makes a second; half the cracks escape."""
    solved = flow("mug", "1000 each/day", SECONDS)
    good = (1 - 0.02) * 0.9
    assert solved.started == pytest.approx([1000 / good])
    assert amount(solved, "seconds", "second") == pytest.approx(1000 / good * 0.98 * 0.1)
    assert amount(solved, "sold", "second") == pytest.approx(amount(solved, "seconds", "second"))
    assert solved.scrapped() == pytest.approx([0, 1000 / good * 0.02])
    escapes = {(solved.items[e.item], solved.faults[e.fault]): e.share for e in solved.escapes}
    assert escapes == {("mug", "crack"): pytest.approx(0.02 / 0.98)}
    assert solved.rolled_yield == pytest.approx([0.9 * 0.96])
    closes(solved)


def test_takes_again_uses_parts_again(flow: Solve) -> None:
    text = SECONDS.replace(
        'spot = { seconds = "second" }', 'spot = { rework = "throw", at_most = 1, takes_again = true }'
    )
    solved = flow(
        "mug",
        "1000 each/day",
        text.replace(', crack = "4 %"', "").replace(', crack = "50 %"', "").replace(', crack = "scrap"', ""),
    )
    assert solved.started == pytest.approx([1000 / 0.99])
    assert amount(solved, "bought", "blank") == pytest.approx(1000 / 0.99 * 1.1)
    closes(solved)


def test_forms_that_circulate_are_not_bought(flow: Solve) -> None:
    solved = flow(
        "shoe",
        "60 pair/day",
        """
[items.shoe]
unit = "pair"
[items.last]
unit = "pair"
stock = 40
[items.upper]
unit = "pair"
buy = "9 EUR"
[routes.shoe]
gives = "shoe"
[[routes.shoe.operations]]
id = "pull"
time = "4 min"
takes = { upper = 1, last = 1 }
yield = "99 %"
[[routes.shoe.operations]]
id = "slip"
time = "1 min"
gives = { last = 1 }
""",
    )
    assert amount(solved, "bought", "last") == 0
    assert amount(solved, "going_round", "last") == pytest.approx(60 / 0.99)
    closes(solved)


def test_per_unit_is_the_part_of_one_finished_product(flow: Solve) -> None:
    solved = flow("box", "100 box/day", SHEETS)
    again = flow("box", "700 box/day", SHEETS)
    assert solved.per_unit(solved.runs) == pytest.approx(again.per_unit(again.runs), rel=1e-12)


def test_result_is_plain_data(flow: Solve) -> None:
    solved = flow("box", "100 box/day", SHEETS)
    data = solved.to_dict()
    assert data["honesty"]["status"] == "exact"
    assert "<table>" in solved._repr_html_()


def test_recycle_with_purge(flow: Solve) -> None:
    """By definition: what is fed leaves as product and purge; 1 % of the feed that is inert leaves with the purge."""
    solved = flow(
        "product",
        "594 kg/day",
        """
[items.feed]
unit = "kg"
buy = "1 EUR"
[items.recycle]
unit = "kg"
[items.product]
unit = "kg"
[routes.make]
gives = "product"
[[routes.make.operations]]
id = "separate"
time = { rate = "1 t/h" }
takes = { mix = { any_of = ["recycle", "feed"], amount = "1 kg" } }
gives = { product = "59.4 %", recycle = "rest" }
loses = { purge = "0.6 %" }
""",
    )
    assert amount(solved, "going_round", "recycle") == pytest.approx(400)
    assert amount(solved, "bought", "feed") == pytest.approx(594 + 6)
    assert solved.lost == pytest.approx([6])
    assert amount(solved, "bought", "feed") * 0.01 == pytest.approx(float(solved.lost[0]))  # a feed with 1 % inert
    closes(solved)

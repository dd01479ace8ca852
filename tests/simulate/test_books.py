"""The books of a run notice what is lost or made up: each is spoilt by one and must be refused."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from linewright.base.calendar import DAY
from linewright.network import compile_network
from linewright.plan import PlanBuilder
from linewright.simulate.checks import BooksError, check_books
from linewright.simulate.engine import Engine
from linewright.simulate.kernel import rows as r
from linewright.simulate.layout_base import Layout
from linewright.simulate.simulate import prepare


def shop() -> tuple[Engine, Layout]:
    """Two steps with a crew, in the middle of a day's work."""
    plan = PlanBuilder("shop", money="EUR", makes="thing", demand="200 each/day")
    plan.item("thing", unit="each").item("bar", unit="each", buy="1 EUR")
    plan.shift("day", hours="00:00-24:00", days="Mon-Sun").crew("hand", people=3, shift="day")
    plan.station("saw").station("bench", places=2)
    route = plan.route("r", gives="thing")
    route.operation("cut", station="saw", crew="hand", time="6 min", takes={"bar": 1})
    route.operation("file", station="bench", crew="hand", time="11 min")
    prepared = prepare(compile_network(plan.build()))
    engine = Engine(prepared.template, seed=3, replication=0, compiler=True)
    assert engine.advance(DAY + DAY // 2)
    engine.settle()
    return engine, prepared.layout


def test_the_books_of_an_untouched_run_balance() -> None:
    check_books(*shop())


def add(column: int, rows: Callable[[Layout], list[int]], real: bool = False) -> Callable[[Engine, Layout], None]:
    """One more in a column of the first row of a table."""

    def spoil(engine: Engine, layout: Layout) -> None:
        (engine.x if real else engine.m)[rows(layout)[0] + column] += 1

    return spoil


def lose_time(engine: Engine, layout: Layout) -> None:
    """One ns less in the account of a place."""
    engine.m[engine.m[layout.places[0][0] + r.ACCOUNT]] -= 1


@pytest.mark.parametrize(
    ("spoil", "said"),
    [
        (lose_time, "a place accounts for"),
        (add(r.U_OPEN, lambda a: a.routes), "pieces are there"),
        (add(r.U_AREA, lambda a: a.routes), "Little's law"),
        (add(r.U_RELEASED, lambda a: a.routes, real=True), "units were let in"),
        (add(r.I_POOL, lambda a: a.items, real=True), "is not"),
        (add(r.C_USED, lambda a: a.crews), "are held"),
    ],
)
def test_what_is_lost_or_made_up_is_noticed(spoil: Callable[[Engine, Layout], None], said: str) -> None:
    engine, layout = shop()
    spoil(engine, layout)
    with pytest.raises(BooksError, match=said):
        check_books(engine, layout)

"""Small seasons of the works to be worked out by hand: fruit is pressed, ferments in vats, is drawn off."""

from __future__ import annotations

from typing import Any

from linewright.plan import PlanBuilder


def cellar(
    *,
    weekly: Any = "14 t",
    vats: int = 2,
    stand: str = "20 days",
    to: str = "2026-12-31",
    until: str = "2026-10-31",
    **header: Any,
) -> PlanBuilder:
    """14 t a week for seven weeks, from a Monday: 1.4 kg give a litre of must, which stands in vats of 5,000 L."""
    builder = PlanBuilder("Season", money="EUR", makes="cider", from_="2026-09-14", to=to, **header)
    builder.item("fruit", unit="kg", buy="0.2 EUR")
    builder.item("must", unit="L", mass="1 kg", store="tank").item("cider", unit="L", mass="1 kg")
    builder.shift("day", hours="06:00-14:00", days="Mon-Fri").crew("hand", people=1, shift="day", wage="20 EUR/h")
    builder.store("tank", room="20000 L").station("press").station("vat", places=vats)
    builder.intake("fruit", from_="2026-09-14", to=until, weekly=weekly)
    builder.route("must", gives="must").operation(
        "press", crew="hand", station="press", takes={"fruit": "1.4 kg"}, time={"rate": "1000 L/h"},
        loses={"pomace": "rest"},
    )  # fmt: skip
    load: dict[str, Any] = {"station": "vat", "load": "5000 L"}
    route = builder.route("cider", gives="cider")
    route.operation("fill", crew="hand", takes={"must": "1 L"}, time="1 h", **load)
    route.operation("ferment", stand=stand, **load).operation("draw", crew="hand", time="1 h", **load)
    return builder


def in_sizes(sizes: dict[str, int], *, fill: str = "", load: Any = None, **asked: Any) -> PlanBuilder:
    """The cellar with vats of several sizes; ``fill``: what is pumped over at a time, ``load`` of what stands."""
    builder = cellar(**asked)
    builder.document["stations"]["vat"] = {"sizes": sizes}
    operations = builder.document["routes"]["cider"]["operations"]
    for operation in operations:
        del operation["load"]
    if fill:
        operations[0]["load"] = fill
    if load is not None:
        operations[1]["load"] = load
    return builder

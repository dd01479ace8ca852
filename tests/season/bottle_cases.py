"""Cider of one harvest in two bottles, written with an option, and the same with items and routes of their own."""

from __future__ import annotations

from typing import Any

from linewright.plan import PlanBuilder

CIDER = {"75 cL": "0.75 L", "33 cL": "0.33 L"}
GLASS = {"75 cL": "0.3 EUR", "33 cL": "0.2 EUR"}
TIME = {"75 cL": "3 s", "33 cL": "2 s"}


def works(
    *, wanted: dict[str, int] | None = None, weekly: Any = "14 t", vats: int = 4, to: str = "2026-12-31",
    plain: bool = False, campaign: dict[str, str] | None = None, first: str = "75 cL", share: str = "60 %",
    during: bool = False,
) -> PlanBuilder:  # fmt: skip
    """14 t of fruit a week for seven weeks give 70,000 L; ``wanted`` is bottles of each size a week, else the harvest.

    ``plain`` writes each size as an item and a route of its own, which needs ``wanted``.
    """
    header: dict[str, Any] = {} if wanted else {"makes": "bottle"}
    builder = PlanBuilder("Two bottles", money="EUR", from_="2026-09-14", to=to, **header)
    sizes = sorted(CIDER, key=lambda size: size != first)
    builder.item("fruit", unit="kg", buy="0.2 EUR")
    builder.item("must", unit="L", mass="1 kg").item("cider", unit="L", mass="1 kg")
    builder.shift("day", hours="06:00-14:00", days="Mon-Fri").crew("hand", people=2, shift="day", wage="20 EUR/h")
    builder.station("press").station("vat", places=vats).station("filler")
    builder.intake("fruit", from_="2026-09-14", to="2026-10-31", weekly=weekly)
    builder.route("must", gives="must").operation(
        "press", crew="hand", station="press", takes={"fruit": "1.4 kg"}, time={"rate": "1000 L/h"},
        loses={"pomace": "rest"},
    )  # fmt: skip
    load: dict[str, Any] = {"station": "vat", "load": "5000 L"}
    care = {"during": [{"name": "read density", "every": "2 days", "time": "6 min", "crew": "hand"}]}
    route = builder.route("cider", gives="cider")
    route.operation("fill", crew="hand", takes={"must": "1 L"}, time="1 h", **load)
    route.operation("ferment", stand="20 days", **load, **(care if during else {}))
    route.operation("draw", crew="hand", time="1 h", **load)
    runs = {"campaign": campaign} if campaign else {}
    step: dict[str, Any] = {"crew": "hand", "station": "filler"}
    if plain:
        for size in sizes:
            builder.item(f"glass_{size[:2]}", unit="each", buy=GLASS[size])
        for size in sizes:
            builder.item(f"bottle_{size[:2]}", unit="each", sell="2 EUR")
        for size in sizes:
            takes: dict[str, Any] = {"cider": CIDER[size], f"glass_{size[:2]}": 1}
            builder.route(f"bottle_{size[:2]}", gives=f"bottle_{size[:2]}", **runs).operation(
                f"bottling_{size[:2]}", time=TIME[size], takes=takes, **step
            )
    else:
        shares = {"75 cL": share, "33 cL": f"{100 - float(share.split()[0]):g} %"}
        builder.document["options"] = {"size": {"values": sizes, "shares": shares}}
        builder.item("glass", unit="each", options="size", buy={"by": "size", "table": GLASS})
        builder.item("bottle", unit="each", options="size", sell="2 EUR")
        builder.route("bottle", gives="bottle", **runs).operation(
            "bottling", time={"by": "size", "table": TIME},
            takes={"cider": {"by": "size", "table": CIDER}, "glass": {"same": ["size"]}}, **step,
        )  # fmt: skip
    if wanted:
        builder.document["demand"] = [_demand(size, wanted[size], plain) for size in sizes]
    return builder


def _demand(size: str, number: int, plain: bool) -> dict[str, Any]:
    """So many bottles of a size a week."""
    item = {"item": f"bottle_{size[:2]}"} if plain else {"item": "bottle", "options": {"size": size}}
    return {**item, "rate": f"{number} each/week"}

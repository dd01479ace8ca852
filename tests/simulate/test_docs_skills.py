"""The page about who can do what: its plans are plans, and its numbers are played."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

from linewright.capacity import measure_capacity
from linewright.flow import solve_flow
from linewright.network import Network, compile_network
from linewright.plan import PlanBuilder, read_plan
from linewright.simulate import Quotas
from linewright.simulate.compare import compare

ROOT = Path(__file__).resolve().parents[2]
TEXT = (ROOT / "docs" / "skills.md").read_text(encoding="utf-8")
ROWS = re.findall(r"^\| ([\w ]+) \| ([\d.]+) \| (-?[\d.]+) \|$", TEXT, re.MULTILINE)
TRAILER = read_plan(ROOT / "examples" / "trailer.toml")
CHANGES = {
    "nobody": TRAILER,
    "one trimmer learns the work of bonder": TRAILER.change("crews.trimmer.can", {"bonder": 1}),
    "one fitter learns the work of wirer": TRAILER.change("crews.fitter.can", {"wirer": 1}),
    "a fourth bonder": TRAILER.change("crews.bonder.people", 4),
}


def test_the_tables_of_the_page_are_crews() -> None:
    written = [tomllib.loads(text) for text in re.findall(r"```toml\n(.*?)```", TEXT, re.DOTALL)]
    assert len(written) == 2
    for tables in written:
        plan = PlanBuilder("Harrow Fen Works, a page", money="EUR", makes="thing", demand="10 each/day")
        plan.item("thing", unit="each").shift("day", hours="08:00-16:00").crew("inspector", people=1, shift="day")
        for name, fields in tables["crews"].items():
            plan.crew(name, **fields)
        plan.route("r", gives="thing").operation("o", crew=next(iter(tables["crews"])), time="1 min")
        assert len(compile_network(plan.build()).crews.lends) == 2


def test_the_numbers_of_the_trailer() -> None:
    assert [row[0] for row in ROWS] == list(CHANGES)
    networks: list[Network] = [compile_network(plan) for plan in CHANGES.values()]
    flows = [solve_flow(network) for network in networks]
    bounds = [measure_capacity(n, f).wanted[0].rate for n, f in zip(networks, flows, strict=True)]
    assert max(bounds) - min(bounds) < 0.05, "every bound is the same"
    found = compare(
        networks, 7, quotas=[Quotas(flow.mix, flow.choice_mix) for flow in flows], release="flat out", open_pieces=24,
        days=112, replications=8,
    )  # fmt: skip
    assert found.first.rate is not None
    for (what, rate, more), played in zip(ROWS, found.networks, strict=True):
        gain = 0.0 if played.gain is None else played.gain.mean
        half = 0.0 if played.gain is None else played.gain.half_width
        assert abs(found.first.rate.mean + gain - float(rate)) <= found.first.rate.half_width + half + 0.05, what
        assert abs(gain - float(more)) <= half + 0.05, (what, played.gain)
        assert half < 0.6, what

"""How many published lines are proved, and how fast, beside a general-purpose constraint solver?

Our exact search (one thread) on the published cases of Scholl (1993) and the generated ones of Otto, Otto and Scholl
(2013), and CP-SAT of OR-Tools (two workers) on every ``--every``-th of them in the same run, with the same time limit
for each case. CP-SAT starts from a quick heuristic, which also bounds the model's size. Rows where we lose stay.
Run: python benchmarks/balance.py [--quick] [--json] [--record] [--every N] [--limit SECONDS]
``--record`` writes the numbers to benchmarks/results and the table to docs/balance.md.
"""

from __future__ import annotations

import argparse
import csv
import json
import os
import statistics
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from common import peak_megabytes, run
from linewright.balance import Line, balance, read_graph, verify
from linewright.balance.clock import Clock
from linewright.balance.exact import Fewest, fewest, warm_up
from linewright.balance.model import Model
from linewright.balance.prepare import Plain

ROOT = Path(__file__).resolve().parent.parent
DATA = Path(os.environ.get("LINEWRIGHT_DATA", ROOT / "../shared/data")) / "line_balancing"
RECORD = ROOT / "benchmarks/results/balance.json"
PAGE = ROOT / "docs/balance.md"
BEGIN, END = "<!-- generated: benchmarks/balance.py -->", "<!-- end -->"
FASTEST_SECONDS = 60.0  # a fastest takt asks several questions of "fewest"; one published case needs 25 s
GENERATED = ((20, 10.0), (50, 10.0), (100, 10.0), (1000, 30.0))
Row = dict[str, Any]


def published() -> list[tuple[str, Line, int, int]]:
    """Every published case: name, line, takt, optimum."""
    lines: dict[str, Line] = {}
    cases = []
    with (DATA / "fewest_stations.csv").open() as file:
        for row in csv.DictReader(file):
            name = row["graph"]
            if name not in lines:
                lines[name] = read_graph(DATA / "graphs" / f"{name.lower()}.txt").line
            cases.append((f"{name} {row['cycle_time']}", lines[name], int(row["cycle_time"]), int(row["optimum"])))
    return cases


def generated(tasks: int) -> Iterator[tuple[str, Line, int]]:
    """The generated cases of one size."""
    for path in sorted((DATA / "generated").glob(f"n{tasks}_*.txt")):
        graph = read_graph(path)
        yield path.stem, graph.line, int(graph.takt or 0)


def ours(line: Line, takt: int, seconds: float) -> Row:
    """One case by the exact search, checked."""
    begun = time.perf_counter()
    found = balance(line, takt=takt, seconds=seconds)
    spent = time.perf_counter() - begun
    wrong = verify(line, [found.station_of[n] for n in line.names], takt=takt, stations=found.count)
    assert not wrong, wrong
    assert found.honesty.bound is not None
    return {
        "stations": found.count,
        "bound": int(found.honesty.bound),
        "proved": found.honesty.status == "proved",
        "seconds": spent,
    }


def by_cp_sat(line: Line, takt: int, seconds: float) -> Row:
    """The same case by CP-SAT with two workers; the quick heuristic's time counts too."""
    from ortools.sat.python import cp_model

    begun = time.perf_counter()
    plain = Plain.of(line)
    start: Fewest = fewest(plain, takt, Clock(0.0))
    station = plain.whole(start.station)
    model = Model(line, int(station.max()) + 1, takt)
    model.hint(station)
    model.cp.add(model.count >= -(-int(line.times.sum()) // takt))
    model.cp.minimize(model.count)
    solver = cp_model.CpSolver()
    solver.parameters.max_time_in_seconds = seconds
    solver.parameters.num_workers = 2
    code = solver.solve(model.cp)
    spent = time.perf_counter() - begun
    found = code in (cp_model.OPTIMAL, cp_model.FEASIBLE)
    return {
        "stations": round(solver.objective_value) if found else int(station.max()) + 1,
        "bound": max(-(-int(line.times.sum()) // takt), round(solver.best_objective_bound)),
        "proved": code == cp_model.OPTIMAL,
        "seconds": spent,
    }


def summary(rows: list[Row]) -> Row:
    """What a table row says of many cases."""
    seconds = [r["seconds"] for r in rows]
    return {
        "cases": len(rows),
        "proved": sum(r["proved"] for r in rows),
        "total_s": sum(seconds),
        "median_s": statistics.median(seconds),
        "slowest_s": max(seconds),
        "widest_gap": max((r["stations"] - r["bound"]) / r["bound"] for r in rows),
    }


def wide(chosen: list[tuple[str, Line, int]], rows: list[Row]) -> list[str]:
    """The cases whose gap is wider than 2 %, in words."""
    return [
        f"{case}: {row['stations']} stations, bound {row['bound']}"
        for (case, _, _), row in zip(chosen, rows, strict=True)
        if row["stations"] > 1.02 * row["bound"]
    ]


def fastest(step: int, seconds: float) -> Row:
    """The cases for the fastest takt against the published intervals."""
    with (DATA / "fastest_cycle.csv").open() as file:
        rows = list(csv.DictReader(file))[::step]
    proved = equal = better = worse = 0
    times = []
    missed = []
    for row in rows:
        line = read_graph(DATA / "graphs" / f"{row['graph'].lower()}.txt").line
        begun = time.perf_counter()
        found = balance(line, stations=int(row["stations"]), seconds=seconds)
        times.append(time.perf_counter() - begun)
        takt, high = int(found.takt or 0), int(row["c_high"])
        proved += found.honesty.status == "proved"
        equal, better, worse = equal + (takt == high), better + (takt < high), worse + (takt > high)
        if takt > high:
            missed.append(f"{row['graph']} with {row['stations']} stations: {takt}, published {high}")
    return {
        "cases": len(rows),
        "limit_s": seconds,
        "proved": proved,
        "equal_to_published": equal,
        "better_than_published": better,
        "worse_than_published": worse,
        "missed": missed,
        "median_s": statistics.median(times),
        "slowest_s": max(times),
        "total_s": sum(times),
    }


def measure(quick: bool, every: int, limit: float) -> Row:
    """Everything; ``quick`` takes one case in ten and leaves out the 1,000-task lines."""
    warm_up()
    step = 10 if quick else 1
    cases = published()[::step]
    balance(cases[0][1], takt=cases[0][2])
    found: Row = {"limit_s": limit, "every": every, "sets": [], "lost": []}

    def one_set(name: str, chosen: list[tuple[str, Line, int]], seconds: float, with_other: bool) -> list[Row]:
        mine = [ours(line, takt, seconds) for _, line, takt in chosen]
        found["sets"].append(
            {"set": name, "engine": "exact search, 1 thread", **summary(mine), "wide": wide(chosen, mine)}
        )
        if with_other:
            other = [by_cp_sat(line, takt, seconds) for _, line, takt in chosen[::every]]
            found["sets"].append({"set": name, "engine": "CP-SAT, 2 workers", **summary(other)})
            for (case, _, _), us, them in zip(chosen[::every], mine[::every], other, strict=True):
                if them["proved"] and (not us["proved"] or them["seconds"] < us["seconds"]):
                    found["lost"].append({"case": case, "ours_s": us["seconds"], "other_s": them["seconds"]})
        return mine

    mine = one_set("published, 7 to 297 tasks", [c[:3] for c in cases], limit, with_other=True)
    found["wrong"] = sum(
        us["stations"] != best for us, (_, _, _, best) in zip(mine, cases, strict=True) if us["proved"]
    )
    for tasks, seconds in GENERATED[: 3 if quick else 4]:
        chosen = list(generated(tasks))[::step]
        one_set(f"generated, {tasks} tasks", chosen, min(seconds, limit) if tasks < 1000 else seconds, tasks < 1000)
    found["fastest"] = fastest(step, FASTEST_SECONDS)
    found["peak_megabytes"] = peak_megabytes()
    return found


def page(found: Row) -> str:
    """The table of docs/balance.md."""
    lines = [
        f"{found['machine']}, Python {found['python']}, {found['date']}; the machine was shared with other work. Limit "
        f"{found['limit_s']:g} s a case (1,000 tasks: 30 s), the same for both; CP-SAT ran on every "
        f"{found['every']}. case. Most memory held by the process: {found['peak_megabytes']:.0f} MB.",
        "",
        "| cases | engine | proved | total | median | slowest | widest gap |",
        "|---|---|---|---|---|---|---|",
    ]
    for row in found["sets"]:
        lines.append(
            f"| {row['set']} | {row['engine']} | {row['proved']} of {row['cases']} | {row['total_s']:.1f} s "
            f"| {1000 * row['median_s']:.1f} ms | {row['slowest_s']:.2f} s | {100 * row['widest_gap']:.1f} % |"
        )
    wider = [case for row in found["sets"] for case in row.get("wide", ())]
    lines += ["", f"Cases of ours with a gap wider than 2 %: {'; '.join(wider) or 'none'}."]
    fast = found["fastest"]
    lines += [
        "",
        f"Fastest takt, {fast['cases']} published cases, limit {fast['limit_s']:g} s: {fast['proved']} proved, "
        f"{fast['equal_to_published']} equal to the published upper value, {fast['better_than_published']} better, "
        f"{fast['worse_than_published']} worse; median {1000 * fast['median_s']:.0f} ms, "
        f"slowest {fast['slowest_s']:.1f} s.",
        "",
    ]
    if fast["missed"]:
        lines += [f"Worse than published within the limit: {'; '.join(fast['missed'])}.", ""]
    if found["lost"]:
        lines.append(f"Cases where CP-SAT was faster or proved more ({len(found['lost'])}):")
        lines += [f"- {r['case']}: ours {r['ours_s']:.2f} s, CP-SAT {r['other_s']:.2f} s" for r in found["lost"]]
    else:
        lines.append("CP-SAT was faster or proved more on none of the cases that both ran.")
    return "\n".join(lines)


def record(found: Row) -> None:
    """Write the numbers to benchmarks/results and the table to docs/balance.md."""
    RECORD.parent.mkdir(exist_ok=True)
    RECORD.write_text(json.dumps(found, indent=1) + "\n")
    text = PAGE.read_text()
    PAGE.write_text(text[: text.index(BEGIN) + len(BEGIN)] + f"\n{page(found)}\n" + text[text.index(END) :])


def main() -> None:
    parser = argparse.ArgumentParser(add_help=False)
    parser.add_argument("--record", action="store_true", help="write the numbers and the page")
    parser.add_argument("--every", type=int, default=1, help="CP-SAT runs on every n-th case only")
    parser.add_argument("--limit", type=float, default=10.0, help="seconds for one case")
    own, others = parser.parse_known_args()
    found = run(lambda quick: measure(quick, own.every, own.limit), __doc__, others, page)
    if own.record:
        record(found)


if __name__ == "__main__":
    main()

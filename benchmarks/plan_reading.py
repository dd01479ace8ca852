"""How long does it take to read and check a large plan, against parsing its text alone?

The plan is generated: 5,000 operations, 4,000 items, 300 stations, 20 crews. "Parse" is tomllib of the standard
library, "keep comments" is tomlkit, both on the same text in the same run.
Run: python benchmarks/plan_reading.py [--quick] [--json]
"""

from __future__ import annotations

import random
import sys
import tempfile
import tomllib
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))
from common import Measured, median, peak_megabytes, run


def large_plan(operations: int, items: int, seed: int = 1) -> str:
    """The text of a plan: a tree of sub-assemblies, 20 operations to a route."""
    draw = random.Random(seed)
    routes = operations // 20
    bought = items - routes
    out = ["[plan]", 'name = "Large"', 'money = "EUR"', 'makes = "p0"', 'demand = "36 each/day"']
    out += ["[shifts.day]", 'hours = "06:00-14:30"', 'breaks = ["09:00-09:15"]']
    for k in range(20):
        out += [f"[crews.c{k}]", "people = 6", 'wage = "27 EUR/h"', 'shift = "day"']
    for k in range(300):
        out += [f"[stations.s{k}]", "places = 2", 'between_stops = "22 h"', 'repair = "35 min"']
    for k in range(routes):
        out += [f"[items.p{k}]", 'unit = "each"']
    for k in range(bought):
        out += [f"[items.b{k}]", f'name = "Part {k}"', 'unit = "each"', f'buy = "{draw.randint(1, 500) / 10} EUR"']
    for k in range(routes * 20):
        route, place = divmod(k, 20)
        if place == 0:
            out += [f"[routes.p{route}]", f'gives = "p{route}"']
        other = (7 * k + 1) % bought
        takes = f"b{k % bought} = 1" + (f", b{other} = 2" if other != k % bought else "")
        if place < 2 and 2 * route + 1 + place < routes:
            takes += f", p{2 * route + 1 + place} = 1"
        out += [f"[[routes.p{route}.operations]]", f'id = "op{k}"', f'name = "Fit part {k}"', f'station = "s{k % 300}"']
        out += [f"crew = {{ c{k % 20} = 1 }}", f'time = {{ mean = "{draw.randint(10, 900) / 10} s", cv = 0.2 }}']
        out += [f"takes = {{ {takes} }}"]
        if place % 5 == 3:
            out += [f'faults = {{ "scratch {k}" = "1 %" }}']
        if place % 5 == 4:
            then = f'{{ rework = "op{k - 1}", at_most = 1 }}'
            out += [f'check = {{ finds = {{ "scratch {k - 1}" = "95 %" }}, then = {then} }}']
    return "\n".join(out) + "\n"


def measure(quick: bool) -> Measured:
    """All timings."""
    import tomlkit

    from linewright.plan import check_plan
    from linewright.plan.places import scan

    operations, items, times = (500, 400, 3) if quick else (5000, 4000, 7)
    text = large_plan(operations, items)
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "large.toml"
        file.write_text(text)
        plan, problems = check_plan(file)
        assert plan is not None, list(problems)[:3]
        check = median(lambda: check_plan(file), times)
        change = median(lambda: plan.change("stations.s7.places", 3), times)
    parse = median(lambda: tomllib.loads(text), times)
    keep = median(lambda: tomlkit.parse(text), 1)
    return {
        "operations": operations,
        "items": items,
        "bytes": len(text),
        "check_seconds": check,
        "parse_seconds": parse,
        "check_over_parse": check / parse,
        "keep_comments_seconds": keep,
        "keep_comments_over_check": keep / check,
        "lines_seconds": median(lambda: scan(text), times),
        "change_seconds": change,
        "peak_megabytes": peak_megabytes(),
    }


if __name__ == "__main__":
    run(measure, __doc__)

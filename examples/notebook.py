"""A morning with the trailer, as cells for a notebook: open it in any editor that knows `# %%` cells, or run it.

Run: python examples/notebook.py (writes nothing but what it prints)
"""

# %% The plan shows itself as its process map.
from pathlib import Path

from linewright import read_plan
from linewright.answer import answer
from linewright.report.charts import charts

here = Path(__file__).parent if "__file__" in globals() else Path("examples")
plan = read_plan(here / "trailer.toml")
plan

# %% The answer by bounds takes a moment and shows verdict, facts, map and charts.
found = answer(plan)
print(found.headline)
found

# %% Every table is a frame. The fullest stations, by polars (pandas: to_pandas).
stations = found.capacity.to_polars()
busy = stations.filter(stations["kind"] == "station").sort("use [%]", descending=True)
print(busy.select("id", "count", "use [%]").head(4))

# %% Charts are named; one shows itself, and its specification can be changed.
drawn = charts(found)
print(sorted(drawn))
drawn["cost"]

# %% What if the bond frame had a third place? A plan is never changed: a changed one is new.
wider = answer(plan.change("stations.bond_frame.places", 3))
print(f"as it is: at most {found.capacity.wanted[0].rate:.1f} a day, bottleneck {found.bottleneck}")
print(f"one place more: at most {wider.capacity.wanted[0].rate:.1f} a day, bottleneck {wider.bottleneck}")

# %% The simulation says what variation takes off the bound; each number comes with its interval.
played = answer(plan, simulate=True, budget_seconds=1.0)
assert played.simulation is not None
print(played.verdict)
played.simulation.as_planned

# %% The line shared out over its stations.
from linewright.answer.ask_balance import share_out  # noqa: E402

shared = share_out(found, seconds=0.5, play=False)
assert shared.balanced is not None
line = shared.balanced.lines[0]
print(line.balance.sentence)
line

# %% Papers: the sheets as a page, every table as a workbook (the PDFs are report_pdf and sheets_pdf).
from linewright.report.papers import sheets, sheets_html, workbook  # noqa: E402

print(f"{len(sheets(shared))} sheets, the first for {sheets(shared)[0].title}")
print(f"{len(sheets_html(shared)) // 1000} kB of page, {len(workbook(shared)) // 1000} kB of workbook")

"""Tables of a balanced line: how good the sharing is, who is needed, what more or fewer stations would bring."""

from __future__ import annotations

from linewright.answer.balanced import Balanced, Played
from linewright.balance import Balance, Curve
from linewright.balance.line_balance import LineBalance
from linewright.balance.result import IMPOSSIBLE, PROVED
from linewright.base.results import Interval, Table, show
from linewright.plan.model import Plan
from linewright.report import words
from linewright.report.balanced.view import LONG, View

COUNTED = {"fewest": "stations", "fastest": "takt", "smoothest": "spread", "cheapest": "cost"}
"""What each goal makes least."""


def sentence(found: Balance, view: View) -> str:
    """The answer in one line, as far as it is proved and no further."""
    if not found.stations:
        at = f" at a takt of {view.time(view.takt)}" if view.takt else ""
        if found.honesty.status == IMPOSSIBLE:
            return f"there is no such sharing{at}; this is proved."
        return f"no sharing was found{at} in the time given, which proves nothing."
    said = f"{found.count} station{'' if found.count == 1 else 's'} at a takt of {view.time(view.takt)}"
    if found.cost is not None:
        said += f", {show(found.cost)} an hour"
    least = COUNTED[found.goal]
    if found.goal == "smoothest":
        return f"{said}{_smooth(found)}."
    if found.honesty.status == PROVED:
        return (
            f"{said}; no sharing has a smaller {least}, proved."
            if least != "stations"
            else f"{said}; fewer is proved impossible."
        )
    return f"{said}; the best found{_bound(found, view)}."


def _smooth(found: Balance) -> str:
    """What is known of a sharing whose loads were evened out."""
    few = next((note for note in found.honesty.notes if "fewest" in note), "")
    few = f"; {few.partition(' are ')[2]}" if few else ""
    if found.honesty.status == PROVED:
        return f"{few}; no sharing over so many is more even, proved"
    gap = found.honesty.gap
    return f"{few}; evened out as far as was found" + (f", within {100 * gap:.2g} % of the bound" if gap else "")


def _bound(found: Balance, view: View) -> str:
    bound, gap = found.honesty.bound, found.honesty.gap
    if bound is None:
        return ", no bound is known"
    if found.goal == "fewest":
        return f", {bound:g} or more are needed"
    if found.goal == "fastest":
        each = 60.0 if view.unit == "min" else 1.0
        return f", no takt below {view.time(bound / each)} is possible"
    return f", within {100 * gap:.2g} % of the bound" if gap is not None else ""


def measures(found: Balance, view: View, line: LineBalance | None = None, played: Played | None = None) -> Table:
    """Efficiency, balance delay and smoothness by their textbook definitions; and what playing it leaves."""
    if not found.stations:
        return Table("How good the sharing is", ("measure", "value"), ())
    each = 60.0 if view.unit == "min" else 1.0
    smooth = found.smoothness_index
    pace = line.pace if line is not None else found.longest
    rows: list[tuple[str, str]] = [
        ("efficiency: work over the time that stations offer", _percent(found.efficiency)),
        ("balance delay: the rest", _percent(found.balance_delay)),
        ("smoothness index (0 is even)", "" if smooth is None else view.time(smooth / each)),
        ("the slowest station, a takt that it could keep", view.time((pace or 0.0) / each)),
    ]
    if line is not None:
        rows.append((f"people, each at a station, used to {_percent(line.labour_efficiency)}", str(line.people)))
        if found.moved:
            rows.append(("operations that move from where they are now", str(len(found.moved))))
    if played is not None:
        rows += play(played)
    return Table("How good the sharing is", ("measure", "value"), tuple(rows))


def play(played: Played) -> list[tuple[str, str]]:
    """The sharing played, beside what it promises on paper."""
    return [
        ("pieces a day on paper, by the slowest station", f"{played.on_paper:.1f}"),
        (f"played with {played.open_pieces} pieces on the line: pieces a day", _interval(played.rate)),
        ("lost to variation, stoppages and waiting", _lost(played.lost)),
        (f"played with {played.tight_pieces} pieces, one a station: lost", _lost(played.tight_lost)),
    ]


def _interval(interval: Interval) -> str:
    from linewright.base.results import show_interval

    return show_interval(interval)


def _lost(lost: Interval) -> str:
    return f"{100 * lost.mean:.1f} ± {100 * lost.half_width:.1f} %"


def _percent(part: float | None) -> str:
    return "" if part is None else f"{100 * part:.1f} %"


def staff(found: LineBalance, plan: Plan) -> Table:
    """Who is needed, crew by crew."""
    rows = tuple(
        (words.name_of(s.crew, plan.crews[s.crew].name), s.stations, s.needed, s.walking, s.there) for s in found.staff
    )
    columns = ("crew", "stations", "people, one place each", "people, walking", "in the plan")
    note = (
        "Walking: one person serves several stations of the crew that fit into a takt together. In the plan: all of "
        "the crew, whatever else they do."
    )
    return Table("Who is needed", columns, rows, note)


def stations(view: View) -> Table:
    """One row a station, its operations by name."""
    rows = tuple(
        (
            s.number,
            s.who,
            "; ".join(words.in_sentence(t.name) for t in s.tasks),
            view.time(s.load),
            f"{100 * s.use:.0f} %",
        )
        for s in view.stations
    )
    columns = ("station", "who", "operations in order", "load", "of takt")
    return Table(view.title, columns, rows)


def trade_off(curve: Curve, view: View) -> Table:
    """The fastest takt for each number of stations."""
    each = 60.0 if view.unit == "min" else 1.0
    rows = tuple(
        (
            b.count,
            view.time((b.takt or 0.0) / each),
            _percent(b.efficiency),
            "proved" if b.honesty.status == PROVED else f"bound {view.time((b.honesty.bound or 0.0) / each)}",
        )
        for b in curve.balances
        if b.stations
    )
    return Table("Stations against takt", ("stations", "fastest takt", "efficiency", "how sure"), rows)


def lines(found: Balanced | None) -> Table:
    """One row a line, for the first page."""
    rows = []
    played_lines = found.played if found is not None else {}
    for line in found.lines if found is not None else ():
        balance = line.balance
        takt = balance.takt or 0.0
        said = f"{takt / 60:.2f} min" if takt >= LONG else f"{takt:.0f} s"
        played = played_lines.get(line.line.id)
        rows.append(
            (
                line.line.name,
                said,
                balance.count or None,
                line.people or None,
                _percent(balance.efficiency),
                _lost(played.lost) if played is not None else "",
                _sure(balance),
            )
        )
    columns = ("line", "takt", "stations", "people", "efficiency", "lost when played", "how sure")
    return Table("The lines shared out", columns, tuple(rows))


def _sure(found: Balance) -> str:
    """How far the answer of a line is proved, in a few words."""
    if not found.stations:
        return "no sharing" if found.honesty.status == IMPOSSIBLE else "none found in time"
    if found.honesty.status == PROVED:
        return "proved"
    bound = found.honesty.bound
    return f"best found, {bound:g} at least" if found.goal == "fewest" and bound is not None else "best found"

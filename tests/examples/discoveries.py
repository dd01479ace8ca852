"""What is worth discovering in each example, computed by the tool. Run this file to write it into the README."""

from __future__ import annotations

import sys
import textwrap
from math import ceil, hypot
from pathlib import Path

import numpy as np

from linewright.answer import Answer, Wish, answer, simulate_plan
from linewright.answer.followed import followed
from linewright.answer.quality.kits import CountWish, count_plan
from linewright.base.results import Interval, show_interval
from linewright.capacity import measure_capacity
from linewright.flow import solve_flow
from linewright.improve import how_many_carriers
from linewright.improve.carriers import shared_out, with_counts
from linewright.network import compile_network
from linewright.plan import Plan, read_plan
from linewright.simulate import Quotas, Simulation, compare, simulate

EXAMPLES = Path(__file__).parents[2] / "examples"
NAMES = ("trailer", "cider", "harvest", "reedboard", "hivekit", "boot")


def read(name: str) -> Plan:
    """The plan of one example."""
    return read_plan(EXAMPLES / f"{name}.toml")


def rate(plan: Plan, *changes: tuple[str, object]) -> tuple[float, str]:
    """Greatest rate a day of the changed plan, and the name of what binds."""
    for path, value in changes:
        plan = plan.change(path, value)
    binds = answer(plan).capacity.binds
    assert binds is not None
    return binds.rate, words(binds.where)


def words(identifier: str) -> str:
    """An id as people say it."""
    return identifier.replace("_", " ")


def percent(share: float) -> str:
    """A share in whole percents."""
    return f"{100 * share:.0f} %"


def verdict(answered: Answer) -> str:
    """The first line under each heading."""
    return f"`linewright answer --no-simulate` says: **{answered.headline}**."


def with_clamps(plan: Plan, sets: int) -> float:
    """Trailers a day, let in at takt, with so many sets of clamps."""
    network = compile_network(plan.change("carriers.clamp_set.count", sets))
    flow = solve_flow(network)
    quotas = Quotas(flow.mix, flow.choice_mix)
    return simulate(network, seed=1, quotas=quotas, days=112, replications=4, release="takt").rate.mean


def trailer() -> str:
    """The cure place, not the people."""
    plan = read("trailer")
    found = answer(plan)
    frame = found.capacity.of("station", "bond_frame")
    fitters = found.capacity.of("crew", "fitter")
    now, where = rate(plan)
    third, then = rate(plan, ("stations.bond_frame.places", 3))
    more_people = max(
        rate(plan, (f"crews.{c.id}.people", c.count + 1))[0] for c in found.capacity.resources if c.kind == "crew"
    )
    there = plan.carriers["clamp_set"].count
    made = {sets: with_clamps(plan, sets) for sets in range(2, 7)}
    enough = next(sets for sets, made_now in made.items() if made_now > 0.995 * made[there])
    assert found.variants is not None
    earns = {row[1]: row[6] for row in found.variants.to_table().rows}
    return f"""
        {verdict(found)} The bottleneck is the {where}, not the people. It is taken for {percent(frame.use)} of the
        time that it could be, and for {percent(frame.hours.standing / frame.hours.total)} of that the adhesive
        cures while nobody stands by, so it looks idle, while the {fitters.count} fitters look busy and are used to
        {percent(fitters.use)}. One more person of any trade leaves the greatest rate at {more_people:.1f} trailers
        a day. A third frame lifts it from {now:.1f} to {third:.1f}; then the {then} is next. Two frames want
        more than two sets of clamps, for a shell leaves the frame in its clamps, and they come back 20 min after it:
        with 2 sets the shop makes {made[2]:.1f} trailers a day, with {enough - 1} it makes {made[enough - 1]:.1f},
        and {enough} of the {there} are enough. A trailer with a window earns
        {earns["window"] - earns["plain"]:.2f} EUR more than a plain one.
    """


def cider() -> str:
    """The tanks, and the weekend."""
    plan = read("cider")
    found = answer(plan)
    press, filler = (found.capacity.of("station", name) for name in ("press", "filler"))
    now, _ = rate(plan)
    eighth, _ = rate(plan, ("stations.fermenter.places", 8))
    chill = "routes.young.operations[chill].stand"
    longer, shorter = rate(plan, (chill, "60 h"))[0], rate(plan, (chill, "18 h"))[0]
    warmth = "routes.young.operations[ferment].stand.ferment.temperature"
    warm, warmer = rate(plan, (warmth, "13 degC"))[0], rate(plan, (warmth, "17 degC"))[0]
    stand = followed(plan)[0].timed.seconds / 86400
    warm_stand = followed(plan.change(warmth, "17 degC"))[0].timed.seconds / 86400
    days = found.capacity.days_week
    load = found.network.operations.load_most[found.network.operations.ids.index("ferment")]
    fills = found.flow.runs[found.network.operations.ids.index("ferment")] / load / found.capacity.wanted[0].demand
    turn = found.capacity.of("station", "fermenter").count / (now * fills)
    return f"""
        {verdict(found)} Press and filler are used to {percent(press.use)} and {percent(filler.use)}; it is the
        tanks, standing still, that fix the rate. Must ferments for {stand:.0f} days and chills for a day and a half,
        but a fermenter turns only every {turn:.0f} working days, four weeks, because its 25.5 days end on a Friday
        night and nobody racks before Monday. So the chill may last 60 h instead of 36 h and costs nothing
        ({longer * days:,.0f} cases a week as now), while half a day saved on it gives {shorter * days:,.0f}. The
        way out is an eighth fermenter: {now * days:,.0f} becomes {eighth * days:,.0f} cases a week where 2,000 are
        wanted. The {stand:.0f} days are no figure of the plan: they follow from must, yeast and the 12 degC of the
        cellar. At 13 degC the same tanks make {warm * days:,.0f} cases, at 17 degC ({warm_stand:.0f} days)
        {warmer * days:,.0f}, and the maturing tanks are next.
    """


def oversize(plan: Plan) -> float:
    """The share that the screen sends back, by its model."""
    return next(f for f in followed(plan) if f.operation == "screen").timed.outcome("oversize") / 100


def harvest() -> str:
    """What is lost if a tank fails, which no balance of averages shows."""
    plan = read("harvest")
    wish = Wish(replications=8)  # the luck of the command line
    found = simulate_plan(plan, wish)
    season, run = found.season, found.season_run
    assert season is not None
    assert run is not None
    price = float(found.network.items.sell[found.network.items.ids.index("case")])

    def without(station: str, size: str) -> tuple[float, str, float]:
        """With one vessel less: the bound as a share, what is lost as it is played, and apples that spoil, kg."""
        count = {written.text: n for written, n in plan.stations[station].sizes}[size]
        less = simulate_plan(plan.change(f'stations.{station}.sizes."{size}"', count - 1), wish)
        assert less.season is not None
        assert less.season_run is not None
        other = less.season_run.total
        half = hypot(run.total.half_width, other.half_width)
        lost = Interval(price * (run.total.mean - other.mean), price * half)
        return (
            less.season.share,
            show_interval(lost),
            float(less.season_run.spoiled.mean.sum() - run.spoiled.mean.sum()),
        )

    bound, large, apples = without("fermenter", "100 hL")
    _, small, _ = without("fermenter", "50 hL")
    _, maturing, _ = without("maturing_tank", "100 hL")
    density = run.cares[0]
    return f"""
        `linewright answer` says: **{found.headline}**. By the balance of the season the harvest fits even with one
        fermenter of 100 hL less: {percent(bound)} of it at most. Played, such a fermenter out of use costs
        {large} EUR ({apples:,.0f} kg more apples spoil while they wait), one of 50 hL {small} EUR, a maturing tank of
        100 hL {maturing} EUR. Where an interval holds nought these eight seasons do not tell. Tanks that are begun half
        full, and mature while the horizon ends, are what a balance of days cannot see. Density is read
        {density.done.mean:,.0f} times in the season, {density.late.mean:,.0f} of them late: after a weekend.
        `linewright improve` lists how many tanks of each size would do.
    """


def reedboard() -> str:
    """What goes round loads the mill."""
    plan = read("reedboard")
    found = answer(plan)
    runs = dict(zip(found.flow.operations, found.flow.runs, strict=True))
    items = dict(zip(found.flow.items, range(len(found.flow.items)), strict=True))
    into_boards = found.flow.used[items["core"]] + found.flow.used[items["face"]]
    dust, pellets = found.flow.used[items["dust"]], found.flow.used[items["pellets"]]
    deck = "routes.screened.operations[screen].time.screen.aperture"
    finer, coarser = "1.8 mm", "2.2 mm"
    goes_back = {size: oversize(plan.change(deck, size)) for size in (finer, coarser)}
    now, where = rate(plan)
    worse, better = rate(plan, (deck, finer)), rate(plan, (deck, coarser))
    no = "the answer is no" if answer(plan.change(deck, finer)).makes is False else "the answer is still yes"
    press = rate(plan, ("stations.hot_press.places", 2))[0]
    power = found.energy.power
    assert power is not None
    mill = next(s for s in power.stations if s.station == "mill")
    one = found.cost.of("board")
    lasting = answer(plan.change("routes.board.operations[sand].setup.every", 900)).cost.of("board")
    return f"""
        {verdict(found)} Not the press: the {where}. For each kilogram of particles in a board it carries
        {runs["mill"] / into_boards:.2f} kg, because {percent(oversize(plan))} of what reaches the screen goes round
        once more. A second hot press changes nothing ({press:.0f} boards a day, as now {now:.0f}). With a top deck of
        {finer} instead of 2 mm {percent(goes_back[finer])} go back as oversize, the {worse[1]} carries {worse[0]:.0f}
        boards a day and {no}; with {coarser} it is {percent(goes_back[coarser])} and {better[0]:.0f} boards, and the
        {better[1]} is next. The dust of screen, sander and saw
        covers {percent(dust / (dust + pellets))} of the fuel the dryer wants; {pellets:.0f} kg of pellets a day are
        bought. The same mill draws {percent(mill.total / power.total)} of the {one.kwh:.1f} kWh that a board takes
        ({one.parts.energy:.2f} EUR), so what goes round costs twice; belts that last twice as long would save
        {one.total - lasting.total:.2f} EUR a board.
    """


def seen(plan: Plan, part: str, apart: tuple[str, ...] = ()) -> float:
    """How often the scale sees one ``part`` missing from the bag, where the parts ``apart`` are not weighed with it."""
    (count,) = count_plan(plan, CountWish(apart=apart))
    return 1 - next(f.passes for f in count.kit.faults if (f.part, f.fault) == (part, "one missing"))


def escapes(found: Answer, fault: str) -> float:
    """Kits of a million that reach the customer with a fault."""
    network = found.network
    item, kind = network.items.ids.index("hive_kit"), network.faults.index(fault)
    return 1e6 * sum(e.share for e in found.flow.escapes if (e.item, e.fault) == (item, kind))


def hivekit() -> str:
    """The part that the scale does not see."""
    plan = read("hivekit")
    found = answer(plan)
    heavy = ("bracket", "runner")
    better = plan
    weigh = "routes.fixings.operations[weigh_bag].check.finds"
    for fault in ("dowel", "screw"):
        share = percent(seen(plan, fault, heavy))
        better = better.change(f'{weigh}."{fault} missing"', share)
    again = answer(better)
    assert found.variants is not None
    earns = {row[1]: row[6] for row in found.variants.to_table().rows}
    now, best = (sum(getattr(lot, kind).total for lot in found.cost.lots) for kind in ("now", "best"))
    flat = next(lot for lot in found.cost.lots if lot.route == "flat")
    return f"""
        {verdict(found)} Every bag is weighed, and still {escapes(found, "dowel missing"):,.0f} kits of a million
        leave one dowel short and {escapes(found, "screw missing"):,.0f} one screw short, while no bracket is ever
        missing. The spread of eight cast brackets and six runners is wider than a dowel is heavy, so the scale sees
        a missing dowel {percent(seen(plan, "dowel"))} of the time and a missing screw
        {percent(seen(plan, "screw"))}. A dearer scale would not help. Weighing screws and dowels before brackets
        and runners go in would see {percent(seen(plan, "dowel", heavy))} and {percent(seen(plan, "screw", heavy))}:
        {escapes(again, "dowel missing"):,.0f} and {escapes(again, "screw missing"):,.0f} of a million. The screw
        would be found; the dowel is still hidden by its own kind, and must be counted another way.
        Of the three kinds the window earns {earns["window"] - earns["plain"]:.2f} EUR more than the plain kit and the
        feeder, though it is sold for more than the window, {earns["plain"] - earns["feeder"]:.2f} EUR less. And the
        panels follow each other as kits want them, so the saw and the edgers change over all day: {now:,.0f} EUR a
        year with what lies in stock. In lots (flat panels {flat.best.lot:,.0f} at a time) it would be {best:,.0f}.
    """


def boot() -> str:
    """One person of twenty-six."""
    plan = read("boot")
    found = answer(plan)
    crews = [r for r in found.capacity.resources if r.kind == "crew"]
    people = sum(r.count for r in crews)
    stitcher, machine = found.capacity.of("crew", "welt_stitcher"), found.capacity.of("station", "welt_machine")
    work = stitcher.hours.total / sum(r.hours.total for r in crews)
    now, where = rate(plan)
    one, third = (rate(plan, ("stations.welt_machine.places", places))[0] for places in (1, 3))
    second, then = rate(plan, ("crews.welt_stitcher.people", 2))
    small, large = (
        rate(plan, ("options.size.shares", {size: "100 %"}), ("carriers.last.count", 90)) for size in ("36", "47")
    )
    assert found.variants is not None
    costs = {row[1]: row[5] for row in found.variants.to_table().rows}
    run = lefts_and_rights(plan)
    ready = float(run.stock.mean[run.all_items.index("boot")])
    return f"""
        {verdict(found)} Of {people} people and {len(found.network.operations.ids)} operations, one person limits
        the works: the {where}, who does two operations, {percent(work)} of the work, and is used to
        {percent(stitcher.use)}. The second sewing machine, bought to make more boots, brings {now - one:.1f} pairs
        a day; the two are used to {percent(machine.use)}, and a third would leave the greatest rate at {third:.1f}.
        By the bounds a second person who can sew a welt lifts it from {now:.1f} to {second:.1f}; then the {then}s are
        next. Sizes matter more than they seem: a pair of 47 costs {costs["47"] - costs["36"]:.2f} EUR more than a pair
        of 36 at the same price, and if everybody wanted 47, and all lasts were of it, no more than {large[0]:.0f} pairs
        a day could be sewn (of 36, {small[0]:.0f}, and then the {small[1]}s are next). Every boot is made as a left or
        a right of its size, about {round(ready, -1):.0f} of them lie ready, and on average fewer than
        {ceil(run.orphans.mean.sum())} of these
        waits for a mate: boots are
        scrapped so seldom that orphans are no reason to make them in pairs. {lasts(plan)}
    """


def lasts(plan: Plan) -> str:
    """More than enough of them, and yet the wrong ones."""
    network = compile_network(plan)
    flow = solve_flow(network)
    capacity = measure_capacity(network, flow)
    needed = how_many_carriers(network, flow, capacity, replications=2, days=56, budget_seconds=600)
    assert needed.enough is not None
    there, least, enough = (of_each_side(numbers) for numbers in (needed.there, needed.least, needed.enough))
    twice = shared_out(network, capacity, 2.0)
    second = compile_network(plan.change("crews.welt_stitcher.people", 2))
    endless = np.full(len(needed.kinds), 100_000)
    networks = [network, with_counts(network, np.array(twice)), second, with_counts(second, endless)]
    quotas = Quotas(flow.mix, flow.choice_mix)
    played = compare(
        networks, 1, quotas=[quotas] * 4, release="flat out", replications=8, days=56, budget_seconds=600
    ).networks  # fmt: skip
    gains = [show_interval(one.gain) for one in played[1:] if one.gain is not None]
    assert len(gains) == len(networks) - 1
    assert played[0].rate is not None
    run = simulate(network, seed=1, quotas=quotas, release="flat out", replications=2, days=56)
    wanted = dict(zip(run.carriers, run.carrier_use.mean[:, 3], strict=True))["last [45, left]"]
    used = run.carrier_use.mean[:, 0].sum()
    return f"""
        There are {sum(needed.there)} lasts, of each side {there} for the sizes from 36 to 47, about as the sizes are
        worn. The bound of the demand asks for {least}, {sum(needed.least)} in all, and played at the rate of the
        demand {enough} are enough, {sum(needed.enough)} in all (`linewright carriers`): there are more than twice as
        many as it takes. Flat out they are the wrong ones. Boots wait on their lasts, {used:.0f}
        lasts are in use at a time, and a left 45 is wanted and not free for {percent(wanted)} of the time. The
        {sum(needed.there)} make {show_interval(played[0].rate)} pairs a day; {sum(twice)}, shared out as the bound
        asks, would make {gains[0]} more. And the second {words("welt_stitcher")} would bring {gains[1]} pairs with the
        lasts that there are, and {gains[2]} with lasts without limit.
    """


def of_each_side(numbers: tuple[int, ...]) -> str:
    """How many for each size, where left and right have as many."""
    assert numbers[0::2] == numbers[1::2]
    *first, last = map(str, numbers[0::2])
    return f"{', '.join(first)} and {last}"


def lefts_and_rights(plan: Plan) -> Simulation:
    """The plan played for some weeks."""
    network = compile_network(plan)
    flow = solve_flow(network)
    return simulate(network, quotas=Quotas(flow.mix, flow.choice_mix), replications=2, days=56)


def paragraph(name: str) -> str:
    """The computed paragraph of one example."""
    tell = {
        "trailer": trailer, "cider": cider, "harvest": harvest, "reedboard": reedboard, "hivekit": hivekit,
        "boot": boot,
    }[name]  # fmt: skip
    return textwrap.fill(" ".join(tell().split()), 120, break_on_hyphens=False, break_long_words=False)


def marked(text: str, name: str) -> tuple[int, int]:
    """Where the paragraph of an example stands in the README, between its two marks."""
    begin, end = f"<!-- {name} -->\n", f"\n<!-- end of {name} -->"
    return text.index(begin) + len(begin), text.index(end)


def write() -> None:
    """Put the computed paragraphs into the README."""
    readme = EXAMPLES / "README.md"
    text = readme.read_text(encoding="utf-8")
    for name in NAMES:
        start, end = marked(text, name)
        text = text[:start] + paragraph(name) + text[end:]
    readme.write_text(text, encoding="utf-8")


if __name__ == "__main__":
    write()
    sys.stdout.write("examples/README.md is written\n")

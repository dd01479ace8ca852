"""Numbers of the examples that can be worked out on paper, against the engines. Every figure stands in the plan."""

from __future__ import annotations

import csv
import math
from functools import cache
from pathlib import Path
from statistics import NormalDist, mean, pstdev, stdev

import pytest

from linewright.answer import Answer, answer
from linewright.plan import read_plan
from linewright.plan.model import Check

EXAMPLES = Path(__file__).parents[2] / "examples"


@cache
def answered(name: str) -> Answer:
    return answer(read_plan(EXAMPLES / f"{name}.toml"))


def runs(name: str, operation: str) -> float:
    found = answered(name)
    return float(found.flow.runs[found.flow.operations.index(operation)])


def used(name: str, item: str) -> float:
    found = answered(name)
    return float(found.flow.used[found.flow.items.index(item)])


def check_of(name: str, operation: str) -> Check:
    operations = (o for route in answered(name).plan.routes.values() for o in route.operations)
    check = next(o.check for o in operations if o.id == operation)
    assert check is not None
    return check


def test_shells_that_leak_go_round_once() -> None:
    """A gap (2.5 %) is found (97 %) or hit by a false alarm (1 %) like a sound shell; rejected twice it is scrap."""
    rejected = 0.025 * (0.97 + 0.03 * 0.01) + 0.975 * 0.01
    assert runs("trailer", "cure") / runs("trailer", "abrade") == pytest.approx(1 + rejected, rel=1e-9)
    scrap = sum(
        s.pieces for s in answered("trailer").flow.scrap if answered("trailer").flow.operations[s.operation] == "leak"
    )
    assert scrap / runs("trailer", "abrade") == pytest.approx(rejected**2, rel=1e-9)


def normal_times(operation: str) -> list[float]:
    """Seconds of normal time as the study reads: observed time times rating."""
    with (EXAMPLES / "trailer_study.csv").open(newline="", encoding="utf-8") as file:
        rows = [row for row in csv.DictReader(file) if row["element"] == operation]
    return [float(row["time [s]"]) * float(row["rating"]) / 100 for row in rows]


def test_hours_of_the_bond_frame() -> None:
    """A bonder's normal time, stretched by 1.11 / 0.96, and 14 min of cure; a new nozzle for every six.

    Setting, closing and releasing take 1.2, 1.9 and 1.3 min; the bead the mean of the lognormal that its study fits.
    """
    logs = [math.log(seconds) for seconds in normal_times("bead")]
    by_hand = 1.2 + 1.9 + 1.3 + math.exp(mean(logs) + pstdev(logs) ** 2 / 2) / 60
    frame = answered("trailer").capacity.of("station", "bond_frame").hours
    cycles = runs("trailer", "cure")
    stretch = 1.11 / 0.96
    assert frame.standing == pytest.approx(cycles * 14 / 60, rel=1e-9)
    assert frame.working + frame.reworking == pytest.approx(cycles * by_hand * stretch / 60, rel=1e-9)
    assert frame.setting_up == pytest.approx(cycles / 6 * (40 / 3600) * stretch, rel=1e-9)


def test_hours_of_the_clamps() -> None:
    """Closed in 1.9 min, 14 of cure, lifted out in 1.3, off in 2.2, back in 20; a leaking shell wants a set again."""
    clamps = answered("trailer").capacity.of("carrier", "clamp_set")
    closed = runs("trailer", "close")
    assert closed > runs("trailer", "abrade") * 1.03
    assert clamps.hours.working == pytest.approx(closed * (1.9 + 1.3 + 2.2) * 1.11 / 0.96 / 60, rel=1e-9)
    assert clamps.hours.standing == pytest.approx(closed * 14 / 60, rel=1e-9)
    assert clamps.hours.moving == pytest.approx(closed * 20 / 60, rel=1e-9)


def shares_of_the_screen() -> dict[str, float]:
    """Sizes by Rosin and Rammler (1.65 mm, 1.6), each deck in turn with a chance of 1 - exp(-ln 2 (d / 0.9 a)^6)."""
    shares, steps, width = dict.fromkeys(("oversize", "core", "face", "dust"), 0.0), 20_000, 10 / 20_000
    for step in range(steps):
        size = (step + 0.5) * width
        left = math.exp(-((step * width / 1.65) ** 1.6)) - math.exp(-(((step + 1) * width / 1.65) ** 1.6))
        for name, aperture in (("oversize", 2.0), ("core", 0.9), ("face", 0.2)):
            held = left * (1 - math.exp(-math.log(2) * (size / (0.9 * aperture)) ** 6))
            shares[name] += held
            left -= held
        shares["dust"] += left
    return shares


def test_what_goes_round_the_mill() -> None:
    """A mat takes 26.6 x 0.905 + 13.7 x 0.875 kg of particles, core and face of each kg milled; oversize comes back."""
    particles = 26.6 * 0.905 + 13.7 * 0.875
    shares = shares_of_the_screen()
    each = shares["core"] + shares["face"]
    assert runs("reedboard", "mill") / runs("reedboard", "form") == pytest.approx(particles / each, rel=2e-3)
    assert used("reedboard", "flakes") / runs("reedboard", "mill") == pytest.approx(1 - shares["oversize"], rel=2e-3)


def test_the_dust_that_the_dryer_burns() -> None:
    """The finest of what is milled and 1.9 kg of each board; 0.10 kg is burnt a kg of flakes, pellets for the rest."""
    dust = shares_of_the_screen()["dust"] * runs("reedboard", "mill") + 1.9 * runs("reedboard", "cut")
    assert used("reedboard", "dust") == pytest.approx(dust, rel=5e-3)
    burnt = used("reedboard", "dust") + used("reedboard", "pellets")
    assert burnt == pytest.approx(0.10 * used("reedboard", "flakes"), rel=1e-6)


def test_litres_from_the_case_back_to_the_must() -> None:
    """0.757 L a bottle filled, 1.0127 L of bright from 1 L of young cider, 0.955 L of it from 1 L of must."""
    bright = 0.757 * runs("cider", "fill")
    assert used("cider", "bright_cider") == pytest.approx(bright, rel=1e-6)
    young = bright / 1.0127
    assert used("cider", "young_cider") == pytest.approx(young, rel=1e-6)
    assert used("cider", "must") == pytest.approx(young / 0.955 + 0.031 * young, rel=1e-6)


def test_shallow_panels_come_first_from_the_strip_beside_the_flat_ones() -> None:
    """A board of flat panels gives ten shallow ones; whole boards give forty for what is still missing."""
    missing = runs("hivekit", "edge_shallow") - 10 * runs("hivekit", "saw_flat")
    assert runs("hivekit", "saw_shallow") == pytest.approx(missing / 40, rel=1e-6)


def test_work_in_a_pair_of_boots() -> None:
    """The welt stitcher sews 45 s and 47 s a boot, 2 % more or less for a size, stretched by 1.09 / 0.96."""
    hours = answered("boot").capacity.of("crew", "welt_stitcher").hours
    shares = dict(zip(range(36, 48), (2, 4, 7, 10, 13, 15, 15, 13, 10, 6, 3, 2), strict=True))
    longer = {size: 1 + 0.02 * (size - 41.5) for size in shares}
    mean = sum(share / 100 * (round(45 * longer[s], 1) + round(47 * longer[s], 1)) for s, share in shares.items())
    assert hours.working == pytest.approx(runs("boot", "stitch_soles") * mean / 3600 * 1.09 / 0.96, rel=1e-4)


def test_what_the_bag_scale_sees() -> None:
    """The root of the sum of squares of parts and scale; a window of 4.4 g either way, that takes up to 4.45 g."""
    spread = math.sqrt(48 * 0.05**2 + 8 * 0.09**2 + 24 * 0.14**2 + 8 * 0.45**2 + 6 * 0.30**2 + 0.1**2 + 0.3**2)
    assert 2 * NormalDist().cdf(-4.45 / spread) == pytest.approx(
        check_of("hivekit", "weigh_bag").false_alarms, abs=0.001
    )
    check = check_of("hivekit", "weigh_bag")
    for part, grams in (("dowel", 1.90), ("screw", 3.20), ("long screw", 6.90), ("bracket", 21.5), ("runner", 28.0)):
        share = NormalDist().cdf((grams - 4.45) / spread)
        assert check.finds[f"{part} missing"] == pytest.approx(share, abs=0.005), part


@pytest.mark.parametrize("operation", ["bead", "door_on"])
def test_times_of_the_trailer_are_those_of_its_time_study(operation: str) -> None:
    """Normal time is observed time times rating: its mean, and its deviation over the mean."""
    normal = normal_times(operation)
    operations = answered("trailer").network.operations
    row = operations.ids.index(operation)
    crew, _ = operations.crews.row(row)
    stretch = answered("trailer").network.crews.stretch[crew[0]]
    found = operations.time.mean[row] / 1e9 / stretch
    assert found == pytest.approx(mean(normal), rel=0.005)
    assert math.sqrt(operations.time.variance[row]) / operations.time.mean[row] == pytest.approx(
        stdev(normal) / mean(normal), abs=0.01
    )

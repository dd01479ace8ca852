"""Three plants written from a blank file, by the pages of docs/ alone; their numbers were worked out by hand first.

A cidery over one year, a boot shop and a packer of desks, all at the made-up Harrow Fen Works. They are not examples to
learn from but a trial of the format: every number here follows from the plan with a pocket calculator.
"""

from __future__ import annotations

from functools import cache
from pathlib import Path

import pytest

from linewright.answer import Answer, Wish, answer, check, simulate_plan
from linewright.base.problems import Level
from linewright.capacity import measure_capacity
from linewright.flow import solve_flow
from linewright.network import compile_network
from linewright.plan import Plan, read_plan
from linewright.report.html import to_html
from linewright.simulate import simulate

HERE = Path(__file__).parent
QUICK = Wish(replications=2)


@cache
def cidery() -> Answer:
    return simulate_plan(read_plan(HERE / "blank_cidery.toml"), QUICK)


@cache
def boots() -> Answer:
    return answer(read_plan(HERE / "blank_boots.toml"))


@cache
def desks() -> Answer:
    return answer(read_plan(HERE / "blank_desk.toml"))


def bought(found: Answer, item: str) -> float:
    """Units bought a working day; kg of what is measured by mass."""
    return float(found.flow.bought[found.flow.items.index(item)])


# ---- the cidery: 16, 26 and 20 t of three sorts, 66 % must of 1.05 kg/L, 97 % after racking


def test_the_harvest_in_cartons() -> None:
    """The dessert fruit is 26 % of the blend and is used up first; 60 days at 0.5 % a month evaporate."""
    blend = 16_000 * 0.66 / 1.05 * 0.97 / 0.26
    months = 60 / (365.25 / 12)
    bottles = blend * (1 - 0.005 * months) / 0.75
    starts = bottles * 4 / 3600 / 7.75  # shifts that filling fills, 12 bottles lost at the start of each
    season = cidery().season
    assert season is not None
    assert season.limits_item == "dessert"
    assert season.potential == pytest.approx((bottles * 0.99 - 12 * starts) / 6, rel=1e-6)
    assert season.fits


def test_what_is_over_is_the_fruit_that_the_blend_has_no_use_for() -> None:
    run, season = cidery().season_run, cidery().season
    assert run is not None
    assert season is not None
    over = dict(zip(season.harvest, season.left, strict=True))
    assert over["sharp"] == pytest.approx(26_000 - 16_000 * 42 / 26, rel=1e-5)
    assert over["bitter"] == pytest.approx(20_000 - 16_000 * 32 / 26, rel=1e-5)
    assert season.potential is not None
    assert 0.98 * season.potential < run.total.mean <= sum(season.most)


def test_three_years_of_fruit_do_not_go_into_the_tanks() -> None:
    """320 hL of fermenters, three to five weeks a filling."""
    plan = read_plan(HERE / "blank_cidery.toml").change("intake[0].weekly", ["40 t", "60 t", "60 t"])
    plan = plan.change("intake[1].weekly", ["50 t", "80 t", "80 t", "50 t"])
    plan = plan.change("intake[2].weekly", ["40 t", "60 t", "60 t", "40 t"])
    plan = plan.change("plan.to", "2027-01-15")
    season = answer(plan).season
    assert season is not None
    assert not season.fits


def test_a_harvest_larger_than_all_tanks_is_told_by_check(tmp_path: Path) -> None:
    """Ten times the fruit; nothing is wrong with the plan, but it cannot be what was meant."""
    text = (HERE / "blank_cidery.toml").read_text()
    more = "\n".join(row.replace(' t"', '0 t"') if row.startswith("weekly") else row for row in text.splitlines())
    large = tmp_path / "large.toml"
    large.write_text(more)
    (said,) = check(large)
    assert (said.level, said.path, said.file) == (Level.WARNING, "intake[0]", str(large))
    assert "the harvest would give " in said.what
    assert " is taken " in said.what


# ---- the boots: 60 pairs a day, 1.9 % of boots become seconds, 0.0729 % of uppers are scrap


def test_boots_and_what_goes_into_them() -> None:
    lasted = 60 * 2 / (1 - 0.02 * 0.95)
    cut = lasted / (1 - (0.03 * 0.90) ** 2)
    sizes = {"38": 0.10, "39": 0.15, "40": 0.20, "41": 0.25, "42": 0.20, "43": 0.10}
    area = {"38": 0.19, "39": 0.20, "40": 0.21, "41": 0.22, "42": 0.23, "43": 0.24}
    found = boots()
    assert bought(found, "insole") == pytest.approx(lasted, rel=1e-9)
    assert bought(found, "leather") == pytest.approx(cut * sum(sizes[s] * area[s] for s in sizes), rel=1e-9)
    assert bought(found, "lace") == pytest.approx(120, rel=1e-9)
    assert bought(found, "resin") == pytest.approx(lasted * 0.012 * 0.92, rel=1e-9)


def test_boots_sold_as_seconds_and_those_that_escape() -> None:
    found = boots()
    lasted = 60 * 2 / 0.981
    assert float(found.flow.sold[found.flow.items.index("second")]) == pytest.approx(lasted * 0.019, rel=1e-9)
    slips = 0.03 * 0.1 * (1 + 0.03 * 0.9)  # at the first look, or at the look after the repair
    upper = slips / (1 - 0.027**2)
    ways = {way.fault: way.escapes for way in found.quality.ways}
    assert ways["skipped stitch"] == pytest.approx(1e6 * (1 - (1 - upper) ** 2), rel=1e-3)


def test_what_limits_the_boots() -> None:
    """Three lasters: 9.2 min a boot and a pot of cement in 6 min for 50 boots, with 10 % allowance."""
    lasted = 60 * 2 / 0.981
    hours = lasted * (9.2 + 6 / 50) * 1.1 / 60
    tightest = boots().capacity.bottleneck
    assert tightest is not None
    assert tightest.id == "laster"
    assert tightest.most == pytest.approx(3 * 7.75 / hours, rel=1e-9)


def test_boots_of_every_size_meet_their_mates() -> None:
    """As planned the day's pairs are made: lefts and rights of six sizes and two colours on 132 lasts."""
    run = simulate_plan(read_plan(HERE / "blank_boots.toml"), QUICK).simulation
    assert run is not None
    assert run.as_planned.rate.mean == pytest.approx(60, rel=0.02)


def helped_boots(folder: Path) -> Plan:
    """The boots with a finisher who can also last, at four fifths of the pace; the four stitchers limit then."""
    text = (HERE / "blank_boots.toml").read_text()
    plan = folder / "boots.toml"
    crew = "[crews.finisher]"
    plan.write_text(text.replace(crew, f'{crew}\ncan = {{ laster = {{ people = 1, pace = "80 %" }} }}'))
    return read_plan(plan)


def test_flat_out_no_more_is_made_than_the_stitchers_can_over_a_year(tmp_path: Path) -> None:
    """A stitch takes 11 min, a look 30 s, 1.027 times for each upper, with 10 % allowance; four of them for 7.75 h."""
    network = compile_network(helped_boots(tmp_path))
    uppers = 2 / 0.981 / (1 - 0.027**2)
    most = 4 * 7.75 * 60 / (uppers * 1.027 * 11.5 * 1.1)
    bound = measure_capacity(network, solve_flow(network)).multiple * 60
    assert bound == pytest.approx(most, rel=1e-9)
    found = simulate(network, release="flat out", days=364, replications=6)
    assert found.rate.low <= bound
    assert found.rate.mean == pytest.approx(bound, rel=0.01), "the stitchers are never idle"


@pytest.mark.parametrize("seed", [0, 1])
def test_weeks_are_added_where_parts_made_ahead_would_flatter_the_rate(tmp_path: Path, seed: int) -> None:
    """Eight weeks look settled to four replications, but the boots that had no mate at first go out in them."""
    network = compile_network(helped_boots(tmp_path))
    found = simulate(network, release="flat out", open_pieces=2, half_width=0.01, seed=seed)
    assert found.weeks > 8
    assert found.rate.half_width <= 0.01 * found.rate.mean
    assert found.rate.low <= 70.17375 <= found.rate.high


# ---- the desks: 80 a day of three models in three colours, 4.8 panels each, 1.38 % of panels rejected


def test_desks_and_what_goes_into_them() -> None:
    found = desks()
    panels = 80 * (1 + 0.5 * 3 + 0.3 * 5 + 0.2 * 4) / (1 - 0.015 * 0.92)
    assert bought(found, "board") == pytest.approx(panels / 7, rel=1e-9)
    assert bought(found, "edging") == pytest.approx(3.4 * panels, rel=1e-9)
    bags = 1 / (1 - (0.01 * 0.97) ** 3)  # two repairs, then scrap; a repair takes no new screws
    assert bought(found, "screw") == pytest.approx(80 * bags * (0.5 * 16 + 0.3 * 28 + 0.2 * 20), rel=1e-9)
    assert bought(found, "runner") == pytest.approx(80 * bags * 0.3 * 2, rel=1e-9)
    offcut = float(found.flow.disposed[found.flow.items.index("offcut")])
    assert offcut == pytest.approx(panels / 7 * (38 - 7 * 4.6), rel=1e-6)


def test_energy_of_the_saw() -> None:
    """5 min a board at 11 kW, and 1.5 kW for the rest of two shifts of 7.5 h."""
    found = desks()
    hours = bought(found, "board") * 5 / 60
    (saw,) = [one for one in found.cost.energy if one.station == "saw"]
    assert saw.running == pytest.approx(11 * hours, rel=1e-6)
    assert saw.idle == pytest.approx(1.5 * (15 - hours), rel=1e-6)


def test_each_bag_of_hardware_is_weighed_as_its_own() -> None:
    """A bag for the drawer varies by the root of 28 x 0.05² + 16 x 0.06² + 2 x 1.5² + 0.1² + 0.2²; screws drown."""
    kits = {count.variant: count for count in desks().quality.kits}
    assert list(kits) == ["[plain]", "[drawer]", "[wide]"]
    assert kits["[plain]"].kit.mean == pytest.approx(16 * 3.1 + 12 * 1.4 + 5)
    assert kits["[drawer]"].kit.sd == pytest.approx(4.6776**0.5, rel=1e-3)
    assert "screw" in kits["[drawer]"].kit.hidden
    assert "screw" not in kits["[plain]"].kit.hidden


def test_the_report_of_desks_tells_lots_by_colour() -> None:
    assert "panel [oak]" in to_html(desks())


def test_changeovers_that_would_not_fit_in_an_even_mix_are_told(tmp_path: Path) -> None:
    """Without lots almost every upper is of another size or colour than the last: 5.4 h of cutting, 4 h of changing."""
    text = "\n".join(row for row in (HERE / "blank_boots.toml").read_text().splitlines() if row != "lot = 12")
    plan = tmp_path / "boots.toml"
    plan.write_text(text)
    found = answer(read_plan(plan))
    assert "with changeovers in an even mix cutting_press would be 122 % used" in found.headline
    assert "write `lot`" in found.headline
    assert "even mix" not in boots().headline

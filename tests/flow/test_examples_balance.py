"""Every example of the works balances: items to rounding, operations within the plan's tolerance of mass."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from linewright.flow import solve_flow
from linewright.network.compile import compile_network
from linewright.plan.load import read_plan

EXAMPLES = sorted((Path(__file__).resolve().parents[2] / "examples").glob("*.toml"))


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_example_balances(path: Path) -> None:
    plan = read_plan(path)
    network = compile_network(plan)
    flow = solve_flow(network)
    comes, goes = flow.bought + flow.made, flow.delivered + flow.used + flow.sold + flow.disposed + flow.left_over
    assert goes == pytest.approx(comes, rel=1e-9, abs=1e-9 * float(comes.max()))
    known = np.isfinite(flow.mass_in) & np.isfinite(flow.mass_out)
    within = plan.tolerance / (1 - plan.tolerance)
    assert flow.mass_out[known] == pytest.approx(flow.mass_in[known], rel=within, abs=1e-9)
    assert (flow.runs > 0).all()
    assert (flow.first_runs <= flow.runs * (1 + 1e-12)).all()
    wanted = [float(flow.finished[network.routes.item == i].sum()) for i in np.flatnonzero(flow.delivered > 0)]
    assert wanted == pytest.approx(flow.delivered[flow.delivered > 0].tolist(), rel=1e-9)

"""Coleman, Fish and Block, Temperature-dependent kinetic model for nitrogen-limited wine fermentations,
Applied and Environmental Microbiology 73 (2007) 5875, doi 10.1128/AEM.00670-07.

The abstract was read (PMC2074923): 11 to 35 degC, 265 to 300 g/L of sugar, 70 to 350 mg/L of nitrogen, slow when cold,
sticking when hot. Table A2 was read only as quoted by others, who report two things of it. The printed mean of the
linear term of k_d is -1.08e-3, outside its own printed 95 % region of -0.194 to -0.033; and that of the cell yield is
-3.61, outside -4.35e-3 to -2.93e-3. A power of ten is lost in both. The values used here lie inside the regions.
"""

from __future__ import annotations

import numpy as np
import pytest

from linewright.physics.ferment_curves import ferment_one
from linewright.physics.yeast import STATED_YIELD, rates


def test_constants_at_20_degrees() -> None:
    """Table A2 as quoted, at 20 degC."""
    found = rates(20.0, 80.0)
    assert float(found.growth) == pytest.approx(0.09480, rel=1e-3)
    assert found.half_nitrogen == pytest.approx(0.008827, rel=1e-3)
    assert float(found.eating) == pytest.approx(0.46860, rel=1e-3)
    assert found.half_sugar == pytest.approx(10.278, rel=1e-3)
    assert float(found.loss) == pytest.approx(4.2842e-5, rel=1e-3)
    assert pytest.approx(0.54991, rel=1e-3) == STATED_YIELD


def test_corrected_slopes_lie_in_the_printed_regions() -> None:
    loss = [float(np.log(rates(t, 80.0).loss)) for t in (0.0, 20.0, 40.0)]
    linear = (4 * loss[1] - loss[2] - 3 * loss[0]) / 40
    assert -0.194 < linear < -0.033
    cells = [float(np.log(rates(20.0, n).cells)) for n in (80.0, 330.0)]
    assert -4.35e-3 < (cells[1] - cells[0]) / 250 < -2.93e-3


def test_cells_for_each_nitrogen_of_figure_4() -> None:
    """Figure 4 as quoted: 24.8 g a g at 80 mg/L and 10.1 at 330."""
    assert rates(20.0, np.array([80.0, 330.0])).cells == pytest.approx([24.8, 10.1], abs=0.1)


def test_rises_from_11_to_35_degrees() -> None:
    """As quoted from the text: growth and eating rise about sixfold, the loss of cells about thirteenfold."""
    cold, hot = rates(11.0, 80.0), rates(35.0, 80.0)
    assert hot.growth / cold.growth == pytest.approx(6, abs=0.7)
    assert hot.eating / cold.eating == pytest.approx(6, abs=0.7)
    assert hot.loss / cold.loss == pytest.approx(13, abs=2)  # 14.7 with the rounded constants


def test_slow_when_cold_and_stuck_when_hot() -> None:
    """The abstract: from sluggish through normal to stuck as the temperature rises from 11 to 35 degC."""
    hours = {t: float(ferment_one(265.0, 80.0, 0.25, t).dry_after) for t in (11.0, 15.0, 20.0, 25.0, 35.0)}
    assert hours[11.0] > hours[15.0] > hours[20.0] > hours[25.0]
    assert hours[11.0] / 24 > 20  # sluggish
    assert hours[35.0] == np.inf  # stuck


@pytest.mark.parametrize(
    ("nitrogen", "temperature", "hours"),
    [(80, 20, 229.0), (330, 20, 137.2), (80, 15, 348.7), (80, 25, 165.8), (80, 30, 182.6)],
)
def test_independent_integration(nitrogen: float, temperature: float, hours: float) -> None:
    """Not a published figure: the same equations integrated by someone else; 264 g/L, 0.25 g/L of yeast, to 2 g/L."""
    assert float(ferment_one(264.0, nitrogen, 0.25, temperature).dry_after) == pytest.approx(hours, rel=0.005)

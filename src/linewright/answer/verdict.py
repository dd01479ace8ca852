"""Whether the plan makes the rate, as one phrase that claims no more than the bounds and the simulation do.

A bound rules a demand out; only the simulation, or an exact bound, says yes. The phrase begins with its verdict and a
comma: ``yes, ...``, ``no, ...``, ``perhaps, ...``.
"""

from __future__ import annotations

import math

from linewright.answer.simulated import FLAT_OUT, Simulated
from linewright.base.results import Interval, show, show_interval
from linewright.capacity.model import Capacity
from linewright.simulate import Simulation


def verdict(capacity: Capacity, simulated: Simulated | None, unplayed: str = "", *, stuck: bool = False) -> str:
    """The phrase; see the module. ``unplayed`` is why a plan could not be simulated: it gets ``stuck``, or else."""
    said = _verdict(capacity, simulated, unplayed, stuck=stuck)
    crowded = capacity.crowded_by_changeovers if capacity.makes else None
    if crowded is None:
        return said
    used = f"{crowded.id} would be {100 * crowded.use:.0f} % used"
    return f"{said}; with changeovers in an even mix {used}: longer lots need fewer, write `lot`"


def _verdict(capacity: Capacity, simulated: Simulated | None, unplayed: str, *, stuck: bool) -> str:
    if simulated is None and stuck and capacity.makes:
        return f"no, although no bound rules it out it gets stuck: {unplayed}"
    if simulated is None and unplayed and capacity.makes:
        return f"perhaps, no bound rules it out, but it could not be simulated: {unplayed}"
    if simulated is None:
        return by_bounds(capacity)
    seen = _seen(simulated, simulated.as_planned)
    most = _flat_out(simulated)
    if not capacity.makes:
        how = "flat out " if simulated.as_planned.release == FLAT_OUT else ""
        return f"no, at most {at_most(capacity.multiple)} of it; simulated {how}{seen}"
    allowed = _allowed(capacity)
    made = simulated.makes_demand
    if made is False:
        return f"no, simulated {seen}{most}, although the bounds allow {allowed}{_too_late(simulated.as_planned)}"
    if made is None:
        return f"perhaps, simulated {seen}{most}, which does not settle it; the bounds allow at most {allowed}"
    return f"yes, simulated {seen}{most}; the bounds allow at most {allowed}"


def by_bounds(capacity: Capacity) -> str:
    """What the bounds alone say."""
    spare = capacity.spare
    if not capacity.makes:
        return f"no, at most {at_most(capacity.multiple)} of it"
    if spare == math.inf:
        return "yes, and nothing in the plan limits the rate"
    if capacity.honesty.status == "exact":
        return f"yes, with {percent(spare)} to spare"
    return f"yes by every bound, with at most {percent(spare)} to spare"


def _seen(simulated: Simulated, run: Simulation) -> str:
    """The rate of one way of letting work in; of several items the part that is made of the one furthest behind."""
    if len(run.rates) == 1:
        return f"{show_interval(run.rates[0])} a day"
    part = simulated.part_made(run)
    return f"{show_interval(Interval(100 * part.mean, 100 * part.half_width))} % of each item or more"


def _too_late(run: Simulation) -> str:
    """What the bounds do not know: windows that close, and what goes off before it is used."""
    closed = [
        f"{show_interval(run.closed.interval(k))} a day begin {o} too late"
        for k, o in enumerate(run.windows)
        if run.closed.mean[k] > 0
    ]
    spoiled = [f"{item} goes off before it is used" for k, item in enumerate(run.all_items) if run.spoiled.mean[k] > 0]
    return "".join(f"; {said}" for said in (*closed, *spoiled))


def _flat_out(simulated: Simulated) -> str:
    if simulated.flat_out is None:
        return ""
    return f", flat out {_seen(simulated, simulated.flat_out).removesuffix(' a day')}"


def _allowed(capacity: Capacity) -> str:
    """What the bounds allow, in the terms of the simulated rate."""
    if not math.isfinite(capacity.multiple):
        return "any rate"
    if len(capacity.wanted) == 1:
        return show(capacity.wanted[0].rate)
    return percent(capacity.multiple)


def percent(part: float) -> str:
    """A share as people say it: whole percents, one decimal below ten, never rounded up to a better answer."""
    value = part * 100.0
    digits = 0 if abs(value) >= 10 else 1
    scale = 10.0**digits
    down = int(value * scale + 1e-9) / scale if value >= 0 else value
    return f"{down:.{digits}f} %"


def at_most(part: float) -> str:
    """A bound below all of it as people say it: rounded up, for it is a bound, but never to 100 %.

    >>> at_most(0.9177), at_most(0.0912), at_most(0.9996)
    ('92 %', '9.2 %', '99.96 %')
    """
    value = part * 100.0
    for digits in range(0 if value >= 10 else 1, 6):
        up = math.ceil(value * 10.0**digits - 1e-6) / 10.0**digits
        if up < 100:
            return f"{up:.{digits}f} %"
    return "just under 100 %"

"""Everything about the quality of a plan, put together from its network, its balance and its capacity."""

from __future__ import annotations

from linewright.answer.quality.checks import check_loads, journeys_of
from linewright.answer.quality.failures import costs_of, failures
from linewright.answer.quality.faults import MILLION, any_fault, escape_shares, one_more_look, startup_keeps, ways
from linewright.answer.quality.fits import fits
from linewright.answer.quality.kinds import kinds
from linewright.answer.quality.kits import kits
from linewright.answer.quality.model import Quality
from linewright.answer.quality.ramp import STANDARD_AT, ramp_up
from linewright.base.problems import Problem
from linewright.base.results import Honesty
from linewright.capacity.model import Capacity
from linewright.flow.model import Flow
from linewright.network.model import Network
from linewright.network.way import fold_way, way_of_faults


def quality_of(
    network: Network, flow: Flow, capacity: Capacity, made: tuple[Network, Flow] | None = None
) -> tuple[Quality, tuple[Problem, ...]]:
    """The quality of a plan, and warnings about what it says of it.

    ``made`` is the network and its balance with a row for each variant, where ``network`` puts them together.
    """
    plan = network.plan
    each, balance = made if made is not None else (network, flow)
    keeps = startup_keeps(each, balance)
    way = way_of_faults(each, balance.mix, balance.choice_mix, keeps)
    followed = ways(network, flow, fold_way(each, way, balance.started))
    together = any_fault(each, balance, way)
    table, derived, unranked = failures(plan, escape_shares(followed))
    counted, denied = kits(each)
    found = Quality(
        checks=check_loads(each, balance, journeys_of(each, balance, keeps)),
        ways=followed,
        any_fault=MILLION * together if together is not None else min(MILLION, sum(w.escapes for w in followed)),
        any_is_bound=together is None,
        looks=one_more_look(network, flow, costs_of(plan)),
        failures=table,
        derived=derived,
        kits=counted,
        fits=fits(plan),
        ramp=ramp_up(network, flow, capacity),
        honesty=Honesty("exact", notes=("expectations for the shares that the plan writes",)),
        notes=_notes(network),
        kinds=kinds(each, balance, way),
    )
    return found, (*unranked, *denied)


def _notes(network: Network) -> tuple[str, ...]:
    """What was taken for granted."""
    every = [o for route in network.plan.routes.values() for o in route.operations]
    notes = []
    if any(o.learning is not None and o.learning.standard_at is None for o in every):
        notes.append(
            f"Where learning says no `standard_at`, the time that is written is reached at piece {STANDARD_AT} of each "
            "person."
        )
    if any(o.learning is not None for o in every):
        notes.append("The rate, the cost and the simulation are those of work that has been learned.")
    if any(o.check is not None and o.check.first_pieces is not None for o in every):
        notes.append("Faults of a setup that first pieces let through are not in the flow.")
    return tuple(notes)

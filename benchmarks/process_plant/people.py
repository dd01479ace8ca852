"""People come and go; they, tools and parts are taken together or not at all, in order of asking."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from linewright.base.calendar import NS, WEEK
from linewright.simulate.kernel import rows as r
from process_plant.things import Claim, Pool, Steps

if TYPE_CHECKING:
    from process_plant.plant import Plant

WEEK_S = WEEK / NS
Times = list[tuple[float, float]]
"""When in the week, in s, how many are there."""


def week_by_week(env: Any, steps: Times, then: Callable[[float], None]) -> Steps:
    """Do something with the new number whenever it changes."""
    k = 0
    while len(steps) > 1:
        k = (k + 1) % len(steps)
        at, passed = steps[k][0], env.now % WEEK_S
        yield env.timeout(at - passed if at > passed else WEEK_S - passed + at)
        then(steps[k][1])


def longest_stretch(steps: Times) -> float:
    """The longest time in s for which anybody is there at a stretch; infinite where somebody always is."""
    if all(level > 0 for _, level in steps):
        return math.inf
    longest, run, ends = 0.0, 0.0, [at for at, _ in steps[1:]] + [WEEK_S]
    for (at, level), end in [*zip(steps, ends, strict=True)] * 2:  # a stretch may go on into the next week
        run = run + end - at if level > 0 else 0.0
        longest = max(longest, run)
    return longest


class People:
    """The crews by their calendars, and all claims."""

    def __init__(self, plant: Plant) -> None:
        self.plant, self.env = plant, plant.env
        self.crews = [self.crew(int(c)) for c in plant.network.crews.calendar]
        self.longest = {id(crew): longest_stretch(crew.steps) for crew in self.crews}
        self.tools = [Pool(float(n)) for n in plant.network.tools.count]

    def crew(self, calendar: int, times: float = 1.0) -> Pool:
        """So many times those of a calendar; the hours of a station are a crew of as many as it has places."""
        steps = self.plant.network.calendars[calendar]
        levels = (steps.level * times).tolist()
        pool = Pool(float(levels[0]), steps=[(t / NS, float(n)) for t, n in zip(steps.at, levels, strict=True)])
        self.env.process(week_by_week(self.env, pool.steps, lambda level: self.come_and_go(pool, level)))
        return pool

    def come_and_go(self, pool: Pool, level: float) -> None:
        """When people drop, the last started pauses first."""
        pool.change(level - pool.used - pool.free, self.env.now)
        for claim in reversed(list(pool.holders)):
            if pool.free >= -1e-9:
                break
            if not claim.finishes:
                self.let_go(claim)
                claim.place.process.interrupt()
        self.look_again(pool)

    def lacks(self, claim: Claim) -> Pool | None:
        """What is missing first; None where all is there."""
        for pool, units in claim.needs:
            if pool.free < units - 1e-9:
                return pool
        for pool, units in claim.crews:
            if pool.free < units - 1e-9 or (claim.fits and not self.fit(pool, units, claim.fits)):
                return pool
            if pool.gathers is not None and pool.gathers is not claim and pool.gathers.order < claim.order:
                return pool
        return None

    def fit(self, pool: Pool, units: float, seconds: float) -> bool:
        """Whether so many people stay for so long; what is longer than any shift may begin with one."""
        if seconds > self.longest[id(pool)]:
            return True
        begin, passed = self.env.now - self.env.now % WEEK_S, self.env.now % WEEK_S
        for turn in (0.0, WEEK_S):
            for at, level in pool.steps:
                if at + turn > passed and level < pool.used + units:
                    return begin + at + turn >= self.env.now + seconds - 1e-6
        return True

    def attempt(self, claim: Claim) -> bool:
        """Take all, or wait at what is missing, in order of asking."""
        lack = self.lacks(claim)
        if lack is not None:
            spot = len(lack.waiting)
            while spot and lack.waiting[spot - 1].order > claim.order:
                spot -= 1
            lack.waiting.insert(spot, claim)
            self.plant.places.state(claim.place, _waits_for(lack))
            return False
        for pool, units in claim.needs:
            self.plant.stock.put(pool, -units)
        now = self.env.now
        for pool, units in claim.crews:
            pool.change(-units, now)
            pool.used += units
            pool.holders.append(claim)
            if pool.gathers is claim:
                pool.gathers = None
        if claim.event is not None:
            claim.event.succeed()
        return True

    def let_go(self, claim: Claim) -> None:
        for pool, units in claim.crews:
            if claim in pool.holders:
                pool.change(units, self.env.now)
                pool.used -= units
                pool.holders.remove(claim)
                self.look_again(pool)

    def look_again(self, pool: Pool) -> None:
        """Those who wait here ask again; where some of a team are free they wait for the rest of it."""
        waiting, pool.waiting, pool.gathers = pool.waiting, [], None
        for k, claim in enumerate(waiting):
            if pool.free <= 1e-9:
                pool.waiting += waiting[k:]
                return
            if not self.attempt(claim) and pool.steps and self.is_for(claim, pool):
                pool.gathers = claim
                pool.waiting += waiting[k + 1 :]
                return

    def is_for(self, claim: Claim, crew: Pool) -> bool:
        """Whether a claim lacks nothing but some more of this crew, who are there."""
        if any(pool.free < units - 1e-9 for pool, units in claim.needs):
            return False
        short = [pool for pool, units in claim.crews if pool.free < units - 1e-9]
        there = crew.free + crew.used
        return short == [crew] and all(units <= there + 1e-9 for pool, units in claim.crews if pool is crew)


def _waits_for(lack: Pool) -> int:
    """The state of a place that lacks this."""
    if lack.item >= 0:
        return r.SHORT
    return r.NO_CREW if lack.steps else r.NO_TOOL

"""People come and go; they, tools and parts are taken together or not at all, in order of asking."""

from __future__ import annotations

from typing import TYPE_CHECKING

from linewright.base.calendar import NS, WEEK
from process_plant.things import Claim, Pool, Steps

if TYPE_CHECKING:
    from process_plant.plant import Plant

WEEK_S = WEEK / NS


class People:
    """The crews by their calendars, and all claims."""

    def __init__(self, plant: Plant) -> None:
        self.plant, self.env = plant, plant.env
        self.crews = [self.crew(int(c)) for c in plant.network.crews.calendar]
        self.tools = [Pool(float(n)) for n in plant.network.tools.count]

    def crew(self, calendar: int) -> Pool:
        steps = self.plant.network.calendars[calendar]
        pool = Pool(
            float(steps.level[0]), steps=[(t / NS, float(n)) for t, n in zip(steps.at, steps.level, strict=True)]
        )
        self.env.process(self.come_and_go(pool))
        return pool

    def come_and_go(self, pool: Pool) -> Steps:
        """When people drop, the last started pauses first."""
        steps = pool.steps
        if len(steps) < 2:
            return
        k = 0
        while True:
            following = steps[(k + 1) % len(steps)]
            passed = self.env.now % WEEK_S
            yield self.env.timeout(following[0] - passed if following[0] > passed else WEEK_S - passed + following[0])
            k = (k + 1) % len(steps)
            pool.change(following[1] - steps[k - 1][1], self.env.now)
            for claim in reversed(list(pool.holders)):
                if pool.free >= -1e-9:
                    break
                if claim.process.is_alive:
                    self.let_go(claim)
                    claim.process.interrupt()
            self.look_again(pool)

    def lacks(self, claim: Claim) -> Pool | None:
        """What is missing first; None where all is there."""
        for pool, units in claim.needs:
            if not pool.endless and pool.free < units - 1e-9:
                return pool
        for pool, units in claim.crews:
            if pool.free < units - 1e-9 or (claim.fits and not self.fit(pool, units, claim.fits)):
                return pool
        return None

    def fit(self, pool: Pool, units: float, seconds: float) -> bool:
        """Whether so many people stay for so long."""
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
            return False
        for pool, units in claim.needs:
            if not pool.endless:
                self.plant.stock.put(pool, -units)
        now = self.env.now
        for pool, units in claim.crews:
            pool.change(-units, now)
            pool.used += units
            pool.holders.append(claim)
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
        """Those who wait here ask again."""
        waiting, pool.waiting = pool.waiting, []
        for k, claim in enumerate(waiting):
            if pool.free <= 1e-9 and not pool.endless:
                pool.waiting += waiting[k:]
                return
            self.attempt(claim)

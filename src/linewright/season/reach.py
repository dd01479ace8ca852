"""Does a season ever have as much on hand as its campaigns wait for?"""

from __future__ import annotations

from linewright.base.problems import Problem, Problems
from linewright.base.results import show
from linewright.flow.model import Flow
from linewright.network.model import Network
from linewright.network.variants import without_values
from linewright.plan.called import item_called

_DUST = 1e-6


def out_of_reach(network: Network, flow: Flow) -> tuple[Problem, ...]:
    """Campaigns that wait for more than all that the season makes or brings: errors where they wait for ever.

    ``network`` and ``flow`` are of an average day (``over_the_season``). With ``waits`` such a campaign begins with
    less each time, which is a warning.
    """
    season, campaigns, problems = network.season, network.campaigns, Problems()
    assert season is not None
    every = flow.made * season.working_days + season.harvest(len(network.items.ids))
    rows = zip(*(column.tolist() for column in (campaigns.route, campaigns.item, campaigns.starts, campaigns.waits)),
               strict=True)  # fmt: skip
    for route, item, starts, waits in rows:
        if not 0 < every[item] < starts * (1 - _DUST) or flow.started[route] <= 0:
            continue
        path = f"routes.{without_values(network.routes.ids[route])}.campaign.starts"
        unit, name = network.items.units[item], item_called(network.plan, network.items.ids[item])
        gives = f"{show(float(every[item]))} {unit}"
        what = f"the campaign waits for {show(starts)} {unit} of {name}, and the whole season gives {gives}"
        expected = f"at most {gives}"
        if waits > 0:
            problems.warn(path, f"{what}: it begins only when it has waited long enough", expected=expected)
        else:
            hint = "a smaller start, or `waits`, after which it begins with what there is"
            problems.error(path, f"{what}: it never begins", expected=expected, hint=hint)
    problems.raise_errors()
    return tuple(problems.found)

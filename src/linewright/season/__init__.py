"""What a season answers: how much of a harvest can be made into what, week by week, and with how many tanks."""

from linewright.season.fold import fold_season
from linewright.season.harvest import Harvest, harvest_of, over_the_season
from linewright.season.model import Season, WeekBalance
from linewright.season.reach import out_of_reach
from linewright.season.solve import solve_season
from linewright.season.tanks import find_tanks
from linewright.season.tanks_model import Tanks

__all__ = [
    "Harvest",
    "Season",
    "Tanks",
    "WeekBalance",
    "find_tanks",
    "fold_season",
    "harvest_of",
    "out_of_reach",
    "over_the_season",
    "solve_season",
]

"""What would help most: single changes of the plan, screened, played under the same luck, the best on fresh luck."""

from linewright.improve.carriers import HowMany, how_many_carriers
from linewright.improve.improve import improve
from linewright.improve.model import Candidate, Edit, Effect, Improvement
from linewright.improve.season_carriers import how_many_in_season

__all__ = [
    "Candidate", "Edit", "Effect", "HowMany", "Improvement", "how_many_carriers", "how_many_in_season", "improve",
]  # fmt: skip

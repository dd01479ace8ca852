"""How do we know it is good? What follows for the quality of a plan, worked out from its checks, faults and fits."""

from linewright.answer.quality.gather import quality_of
from linewright.answer.quality.model import Quality

__all__ = ["Quality", "quality_of"]

"""Does the heat wanted by dryers meet the fuel at hand, the cooling of tanks what they want, and what power is drawn?

Models of physics speak of one kilogram or one tank; here they are joined with what the whole plant does in a day.
"""

from linewright.answer.energy.join import Energy, energy_of, with_peak

__all__ = ["Energy", "energy_of", "with_peak"]

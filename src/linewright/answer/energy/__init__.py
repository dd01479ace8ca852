"""Does the heat wanted by dryers meet the fuel at hand, and the cooling wanted by tanks the cooling there is?

Models of physics speak of one kilogram or one tank; here they are joined with what the whole plant does in a day.
"""

from linewright.answer.energy.join import Energy, energy_of

__all__ = ["Energy", "energy_of"]

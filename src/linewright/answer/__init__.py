"""One call from a plan to everything that is known about it."""

from linewright.answer.ask import answer, carriers_of_plan, check, improve_plan, simulate_plan
from linewright.answer.model import Answer
from linewright.answer.play import Wish
from linewright.answer.simulated import Day, Simulated

__all__ = ["Answer", "Day", "Simulated", "Wish", "answer", "carriers_of_plan", "check", "improve_plan", "simulate_plan"]

"""How the quality of a plan is shown: the checks, the way of every fault, failure modes, kits, fits, learning."""

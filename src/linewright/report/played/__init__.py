"""How a simulation is shown: its tables, its charts, one day as bars, and its page in the terminal."""

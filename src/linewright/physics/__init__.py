"""Times that nobody chooses: drying, fermenting, heating and cooling, curing, screening, pressing.

Each model is a function on plain numbers with its units stated, over NumPy arrays where that makes sense. It says its
equation, range and source, warns outside its range, and refuses bad input by name. Nothing here knows the plan:
``physics.models`` reads conditions as a plan writes them and gives a time with its curve.
"""

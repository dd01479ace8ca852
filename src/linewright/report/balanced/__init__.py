"""A balanced line for people: stations with their operations, charts, and the order of the work as a drawing."""

"""How an answer is shown: the process map, charts, the terminal, one HTML page, and the telling in words."""

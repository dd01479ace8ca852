"""How what would help most is shown: its tables, its chart, its part of the page and its page in the terminal."""

"""Lets the tests of this folder share ``balance_cases``: test files are imported by path, not as a package."""

from __future__ import annotations

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))

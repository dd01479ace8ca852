"""What every process beside the server begins with: it holds to its memory, leaves Ctrl-C to the server, gives way to
the page, and ends when the server has gone.
"""

from __future__ import annotations

import os
import signal
import threading
import time
from contextlib import suppress

from linewright.pages.limits import hold_memory


def settle(*, gently: bool = False) -> None:
    """Settle a new process in; ``gently``: it works when nobody else does."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    if gently and hasattr(os, "nice"):
        with suppress(OSError):
            os.nice(5)
    hold_memory()
    threading.Thread(target=_leave_with, args=(os.getppid(),), daemon=True).start()


def _leave_with(parent: int) -> None:
    while os.getppid() == parent:
        time.sleep(1.0)
    os._exit(1)

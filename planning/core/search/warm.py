"""Compiles the kernels and leaves them in numba's cache: `python -m planning.core.search.warm`, at set-up."""

from __future__ import annotations

import sys
import time

from planning.core.search.engine import load_kernels


def main() -> None:
    began = time.monotonic()
    load_kernels()
    sys.stdout.write(f"planner ready after {time.monotonic() - began:.1f} s\n")


if __name__ == "__main__":
    main()

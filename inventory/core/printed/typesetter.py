"""Sets one sheet in a process of its own: what typst keeps in memory for the next one ends with it.

The request comes as JSON on stdin, the PDF goes to stdout: `python -m inventory.core.printed.typesetter`.
"""

import json
import subprocess
import sys
from collections.abc import Mapping
from datetime import UTC, datetime
from pathlib import Path

ROOT = Path(__file__).resolve().parents[3]
# The file says nothing of when it was made, so that the same data give the same bytes.
_NO_TIME = datetime(2000, 1, 1, tzinfo=UTC)
_SECONDS = 60


class NotSet(RuntimeError):
    """The sheet could not be set; the message is typst's."""


def typeset(template: Path, inputs: Mapping[str, str], *, system_fonts: bool = True) -> bytes:
    """The PDF of a template that reads `inputs`. Raises NotSet."""
    asked = {"template": str(template), "inputs": dict(inputs), "system_fonts": system_fonts}
    done = subprocess.run(
        [sys.executable, "-m", "inventory.core.printed.typesetter"],
        cwd=ROOT, input=json.dumps(asked).encode(), capture_output=True, timeout=_SECONDS, check=False,
    )  # fmt: skip
    if done.returncode:
        raise NotSet(done.stderr.decode(errors="replace")[-2000:])
    return done.stdout


def main() -> None:
    import typst  # only here, so that those who ask do not load it

    asked = json.load(sys.stdin)
    sys.stdout.buffer.write(
        typst.compile(
            asked["template"],
            root=str(ROOT),
            format="pdf",
            ignore_system_fonts=not asked["system_fonts"],
            sys_inputs=asked["inputs"],
            timestamp=_NO_TIME,
        )
    )


if __name__ == "__main__":
    main()

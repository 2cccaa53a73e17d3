"""Clients generated from docs/openapi.yaml into a temporary folder, once for each pytest process."""

import subprocess
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest

HERE = Path(__file__).parent
SCHEMA = HERE.parent.parent / "docs" / "openapi.yaml"


@dataclass(frozen=True, slots=True, kw_only=True)
class Generated:
    """A client as it was generated: its folder, and what the generator said."""

    folder: Path
    said: str


@pytest.fixture(scope="session")
def python_client(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Generated]:
    """The package `roundlay_client`, which can be imported while the tests run."""
    folder = tmp_path_factory.mktemp("python client")
    command = [
        sys.executable,
        "-m",
        "openapi_python_client",
        "generate",
        "--path",
        str(SCHEMA),
        "--meta",
        "none",
    ]
    command += ["--config", str(HERE / "python.yaml"), "--output-path", str(folder / "roundlay_client")]
    done = subprocess.run(command, capture_output=True, text=True, check=False, timeout=300)
    assert done.returncode == 0, done.stdout[-3000:] + done.stderr[-3000:]
    sys.path.insert(0, str(folder))
    yield Generated(folder=folder / "roundlay_client", said=done.stdout + done.stderr)
    sys.path.remove(str(folder))

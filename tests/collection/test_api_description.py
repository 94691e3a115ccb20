"""The API keeps to its own description: tried out by machine over every operation, right and wrong data.

How much is tried is a matter of time: LONGSTAND_API_EXAMPLES asks for more examples an operation, and
with them for every case at the limits of each field.
"""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from tests.browser.conftest import free_port

HERE = Path(__file__).parent
EXAMPLES = int(os.environ.get("LONGSTAND_API_EXAMPLES", "0"))
FEW = 2
SECONDS = 60  # policy: of the suite; each case is whole, only fewer fit on a slow machine
STARTS_WITHIN_SECONDS = 120


@pytest.fixture
def served(tmp_path):
    """The API in a process of its own; its address and what it says of itself."""
    port, data = free_port(), tmp_path / "data"
    environment = os.environ | {
        "LONGSTAND_DATA": str(data), "LONGSTAND_MODE": "local", "LONGSTAND_LOG": "ERROR",
        "LONGSTAND_DATABASE": "",
    }  # fmt: skip
    with (tmp_path / "log").open("w") as log:
        process = subprocess.Popen(  # noqa: S603 - our own command line
            [sys.executable, "-m", "tests.collection.api_server", str(port)],
            env=environment, stdout=subprocess.PIPE, stderr=log, text=True,
        )  # fmt: skip
        try:
            said = process.stdout.readline()
            assert said, (tmp_path / "log").read_text()
            yield f"http://127.0.0.1:{port}", json.loads(said)
        finally:
            process.kill()
            process.wait(30)
            process.stdout.close()
    assert "Traceback" not in (tmp_path / "log").read_text()


def test_the_api_keeps_to_its_description(served, tmp_path):
    address, said = served
    phases = "examples,coverage,fuzzing,stateful" if EXAMPLES else "examples,fuzzing,stateful"
    limit = [] if EXAMPLES else ["--max-time", str(SECONDS)]
    tried = subprocess.run(  # noqa: S603 - our own command line
        [
            Path(sys.executable).with_name("schemathesis"),
            "--config-file", HERE / "schemathesis.toml", "run",
            f"{address}/api/v1/openapi.json", "--header", f"Authorization: Bearer {said['token']}",
            "--phases", phases, "--max-examples", str(EXAMPLES or FEW), *limit,
            "--generation-deterministic", "--wait-for-schema", str(STARTS_WITHIN_SECONDS),
            "--request-timeout", "60", "--suppress-health-check", "all", "--no-color",
        ],
        cwd=tmp_path, capture_output=True, text=True, check=False,
    )  # fmt: skip
    print(tried.stdout[-3000:])  # noqa: T201 - how much was tried
    assert tried.returncode == 0, tried.stdout[-20_000:] + tried.stderr
    assert "Tested: 42" in tried.stdout or EXAMPLES == 0

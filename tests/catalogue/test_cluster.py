"""Many machines: a scheduler and workers on the loopback, one of them killed in the middle."""

import os
import shutil
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from click.testing import CliRunner

from pipeline.cli import main

ROOT = Path(__file__).resolve().parents[2]
GOOD = ROOT / "tests" / "cases" / "good" / "harbour-wheel.yaml"
WANTED = ("--locale", "en", "--locale", "de", "--locale", "ar", "--paper", "a5")
NAMES = [f"wheel-{number}" for number in range(6)]


def free_port() -> int:
    """A port nobody listens at."""
    with socket.socket() as found:
        found.bind(("127.0.0.1", 0))
        return int(found.getsockname()[1])


@pytest.fixture
def shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A workspace of six patterns."""
    (tmp_path / "patterns").mkdir()
    text = GOOD.read_text(encoding="utf-8")
    for name in NAMES:
        (tmp_path / "patterns" / f"{name}.yaml").write_text(text.replace("harbour-wheel", name), encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    return tmp_path


@pytest.fixture
def cluster(tmp_path: Path) -> Iterator[tuple[str, list[subprocess.Popen[bytes]]]]:
    """A scheduler's address and two workers of one process each."""
    address = f"tcp://127.0.0.1:{free_port()}"
    environment = os.environ | {"PYTHONPATH": str(ROOT), "DASK_DISTRIBUTED__SCHEDULER__ALLOWED_FAILURES": "3"}

    def start(kind: str, *arguments: str) -> subprocess.Popen[bytes]:
        command = [sys.executable, "-m", f"distributed.cli.dask_{kind}", *arguments]
        with (tmp_path / f"{kind}.log").open("ab") as log:
            return subprocess.Popen(command, env=environment, cwd=tmp_path, stdout=log, stderr=log)

    port = address.rpartition(":")[2]
    scheduler = start("scheduler", "--host", "127.0.0.1", "--port", port, "--no-dashboard")
    workers = [
        start("worker", address, "--nthreads", "1", "--no-nanny", "--no-dashboard", "--host", "127.0.0.1")
        for _ in range(2)
    ]
    yield address, workers
    for process in (*workers, scheduler):
        process.kill()
        process.wait()


def test_a_lost_worker_loses_nothing(shop: Path, cluster: tuple[str, list[subprocess.Popen[bytes]]]) -> None:
    """Eighteen leaflets by two workers, one killed when the first are there: all are made, as one process makes them."""
    address, workers = cluster
    command = [sys.executable, "-m", "pipeline", "catalogue", *WANTED, "--cluster", address]
    run = subprocess.Popen(command, env=os.environ | {"PYTHONPATH": str(ROOT)}, stdout=subprocess.PIPE, text=True)
    until = time.monotonic() + 300
    while len(list(shop.glob("build/out/*/*.pdf"))) < 3 and time.monotonic() < until:
        time.sleep(0.05)
    workers[0].send_signal(signal.SIGKILL)
    said, _ = run.communicate(timeout=600)
    assert run.returncode == 0, said
    assert "made 18, failed 0" in said
    made = {file.name: file.read_bytes() for file in shop.glob("build/out/*/*.pdf")}
    assert len(made) == 18
    shutil.rmtree("build/out/wheel-0")
    assert CliRunner().invoke(main, ["catalogue", *WANTED, "--jobs", "1"]).exit_code == 0
    for file in shop.glob("build/out/wheel-0/*.pdf"):
        assert file.read_bytes() == made[file.name]


def test_what_it_needs_is_named_with_what_to_install(shop: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """By the names of the packages themselves; nothing is made."""
    monkeypatch.setitem(sys.modules, "distributed", None)
    done = CliRunner().invoke(main, ["catalogue", *WANTED, "--cluster", "tcp://127.0.0.1:1"])
    assert done.exit_code == 1, done.output
    assert "distributed is not installed" in done.output
    assert "hint: python -m pip install dask distributed" in done.output
    assert not list(shop.glob("build/out/*/*.pdf"))


def test_where_nothing_answers_it_says_so(shop: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """No scheduler at the address, and no address at all: a problem with what to do, exit 1, nothing made."""
    monkeypatch.setattr("pipeline.catalogue.cluster.SECONDS", 1)
    for address in (f"tcp://127.0.0.1:{free_port()}", "nonsense://x"):
        done = CliRunner().invoke(main, ["catalogue", *WANTED, "--cluster", address])
        assert done.exit_code == 1, done.output
        assert "no-cluster" in done.output
    assert not list(shop.glob("build/out/*/*.pdf"))

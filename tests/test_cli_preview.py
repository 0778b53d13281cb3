"""The command that shows patterns in the browser: what it is given, and how it ends."""

import errno
import http.client
import importlib.util
import os
import signal
import socket
import subprocess
import sys
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest
import yaml
from click.testing import CliRunner

from pipeline.cli import main
from pipeline.commands.preview import PORT

PATIENCE_S = 60


@pytest.fixture
def place(tmp_path: Path, example: dict[str, Any]) -> Path:
    """A workspace with one pattern."""
    (tmp_path / "patterns").mkdir()
    (tmp_path / "patterns" / "trial.yaml").write_text(yaml.safe_dump(example, sort_keys=False))
    return tmp_path


def test_what_it_needs_is_named_with_what_to_install(place: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Wrong use, not a traceback."""
    known = importlib.util.find_spec
    monkeypatch.setattr("pipeline.commands.preview.find_spec", lambda name: None if name == "uvicorn" else known(name))
    result = CliRunner().invoke(main, ["preview", str(place), "--no-open"])
    assert result.exit_code == 2
    assert "the preview needs uvicorn; run: python -m pip install uvicorn\n" in result.output


def test_a_place_without_patterns_is_wrong_use(tmp_path: Path) -> None:
    """A folder with none in it or above it, a file that is none, a place that is not there."""
    other = tmp_path / "other.yaml"
    other.write_text("spokeleaf: 1\n")
    for given, words in ((tmp_path, "no folder `patterns`"), (other, "no folder `patterns`"), (tmp_path / "x", "x")):
        result = CliRunner().invoke(main, ["preview", str(given), "--no-open"])
        assert result.exit_code == 2
        assert words in result.output


def test_a_file_that_is_no_pattern_of_the_workspace_is_wrong_use(place: Path) -> None:
    """Beside the patterns, or among them and something else."""
    for name in ("README.md", "patterns/photo.jpg"):
        (place / name).write_text("x")
        result = CliRunner().invoke(main, ["preview", str(place / name), "--no-open"])
        assert result.exit_code == 2
        assert "is no pattern of" in result.output


@pytest.mark.parametrize("reason", [errno.EADDRINUSE, errno.EACCES])
def test_a_port_that_cannot_be_used_is_said(place: Path, monkeypatch: pytest.MonkeyPatch, reason: int) -> None:
    """Why, and what to do: it may be taken, or not be ours to take."""
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = taken.getsockname()[1]
        if reason == errno.EACCES:

            def refuse(*_: object) -> None:
                raise PermissionError(reason, os.strerror(reason))

            monkeypatch.setattr(socket.socket, "bind", refuse)
        result = CliRunner().invoke(main, ["preview", str(place), "--no-open", "--port", str(port)])
    assert result.exit_code == 2
    words = f"port {port} cannot be used: {os.strerror(reason)}; choose another with --port, or 0"
    assert words in result.output


def test_its_help_says_which_port_it_takes() -> None:
    """And how not to open a browser."""
    result = CliRunner().invoke(main, ["preview", "--help"])
    assert result.exit_code == 0
    assert str(PORT) in result.output
    assert "--no-open" in result.output


@pytest.fixture
def running(place: Path) -> Iterator[tuple["subprocess.Popen[str]", int]]:
    """The command at any free port, and the port."""
    command = [sys.executable, "-m", "pipeline", "preview", str(place / "patterns"), "--port", "0", "--no-open"]
    surroundings = os.environ | {"PYTHONPATH": str(Path(__file__).resolve().parent.parent), "PYTHONUNBUFFERED": "1"}
    process = subprocess.Popen(
        command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, env=surroundings, cwd=place
    )
    assert process.stdout is not None
    line = process.stdout.readline()
    assert line.startswith("http://127.0.0.1:"), line
    yield process, int(line.split("/")[2].rpartition(":")[2])
    process.kill()
    process.communicate()


def test_a_stream_tells_everything_and_ctrl_c_ends_it(
    running: tuple["subprocess.Popen[str]", int], place: Path
) -> None:
    """Events in their order, a save again; while the stream is open, Ctrl-C ends the command with 0 and no traceback."""
    process, port = running
    with closing(http.client.HTTPConnection("127.0.0.1", port, timeout=PATIENCE_S)) as connection:
        connection.request("GET", "/events")
        answer = connection.getresponse()
        assert answer.headers["Content-Type"].startswith("text/event-stream")
        events = (line.decode().split()[1] for line in iter(answer.readline, b"") if line.startswith(b"event: "))
        assert [next(events) for _ in range(5)] == ["hello", "choices", "checked", "page", "front"]
        assert "whole" in events
        file = place / "patterns" / "trial.yaml"
        file.write_text(file.read_text().replace("rays: 4", "rays: 7"))
        assert next(events) == "checked"
        process.send_signal(signal.SIGINT)
        out, err = process.communicate(timeout=PATIENCE_S)
        assert process.returncode == 0, err
        assert "Traceback" not in out + err
        assert "trial en: check " in err
        assert "there are errors" in err


def test_it_listens_at_this_machine_alone(running: tuple["subprocess.Popen[str]", int]) -> None:
    """At the loopback address, and by no other name than its own."""
    _, port = running
    with closing(http.client.HTTPConnection("127.0.0.1", port, timeout=PATIENCE_S)) as connection:
        connection.request("GET", "/", headers={"Host": "evil.example"})
        assert connection.getresponse().status == 403
    listening = Path("/proc/net/tcp").read_text().splitlines()[1:]
    own = [
        line.split()[1] for line in listening if line.split()[1].endswith(f":{port:04X}") and line.split()[3] == "0A"
    ]
    assert own == [f"0100007F:{port:04X}"]

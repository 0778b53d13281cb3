"""Run commands and tell all that they opened, wrote, started and spoke to, as audit hooks of the interpreter hear it (PEP 578).

A script of its own: a hook cannot be taken off again. Commands come as JSON on standard input; what was heard goes to
standard output: pairs of what was done and to what, each once, and the exit code of every command.
"""

import json
import os
import sys

WRITING = os.O_WRONLY | os.O_RDWR | os.O_CREAT | os.O_TRUNC | os.O_APPEND
PATHS = {
    "os.remove": 1, "os.rename": 2, "os.mkdir": 1, "os.rmdir": 1, "os.link": 2, "os.symlink": 2, "os.chmod": 1, "os.utime": 1,
    "os.truncate": 1, "sqlite3.connect": 1, "shutil.rmtree": 1, "shutil.copyfile": 2, "shutil.move": 2,
}  # fmt: skip
"""What changes files, and how many of its arguments are paths."""
OTHERS = ("socket.", "subprocess.", "os.system", "os.exec", "os.posix_spawn", "os.fork", "os.startfile", "urllib.", "http.", "ftplib.",
          "smtplib.", "webbrowser.", "winreg.", "ctypes.dlopen")  # fmt: skip

heard: dict[tuple[str, str], None] = {}


def hear(event: str, arguments: tuple[object, ...]) -> None:
    """Keep what matters."""
    if event == "open" and isinstance(arguments[0], str | bytes | os.PathLike):
        flags = arguments[2] if isinstance(arguments[2], int) else 0
        note("write" if flags & WRITING else "read", arguments[0])
    elif event in PATHS:
        for path in arguments[: PATHS[event]]:
            note("write", path)
    elif event.startswith(OTHERS):
        heard[event, repr(arguments)] = None


def note(what: str, path: object) -> None:
    """A path as it was named, made whole."""
    if isinstance(path, str | bytes | os.PathLike):
        heard[what, os.path.abspath(os.fsdecode(path))] = None  # noqa: PTH100


sys.addaudithook(hear)

from click.testing import CliRunner  # noqa: E402

from pipeline.cli import main  # noqa: E402

commands = json.load(sys.stdin)
codes = []
for command in commands:
    result = CliRunner().invoke(main, command)
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exc_info
    codes.append((result.exit_code, result.output))
sys.stdout.write(json.dumps({"heard": list(heard), "codes": codes}))

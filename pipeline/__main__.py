"""Run the command line with ``python -m pipeline``."""

from pipeline.cli import run

run()

"""A lace in numbers: the object that ``check --json`` prints for a file."""

from collections.abc import Mapping
from typing import Any

from pipeline.craft.assembly import Lace, LaceRound, ThreadTotal
from pipeline.craft.thread import Thread
from pipeline.units import TEX_PER_NE

PLACES = 6
"""Decimal places of every length and share."""


def figures(lace: Lace) -> dict[str, Any]:
    """Loom, laying, rounds, threads and stretch, in mm, per cent and grams."""
    return {
        "pins": lace.loom.pins,
        "rays": lace.loom.rays,
        "lay": {"order": list(lace.web.order), "net_mm": _number(lace.web.net), "cut_mm": _number(lace.web.cut)},
        "rounds": [_round(done) for done in lace.rounds],
        "threads": {letter: _thread(total, lace.threads[letter]) for letter, total in lace.totals.items()},
        "stretch": _stretch(lace),
    } | ({"mat": _mat(lace)} if lace.mat else {})


def stretch_pct(done: LaceRound) -> float:
    """How far the tightest of all rays is stretched after a round."""
    return (max(ray.stretch for ray in done.rays) - 1) * 100


def _round(done: LaceRound) -> Mapping[str, Any]:
    return {
        "round": done.number,
        "stitch": done.stitch.stitch,
        "radius_mm": _number(done.radius),
        "rows": done.rows,
        "groups": len(done.worked.nodes),
        "knots": done.knots,
        "shift": done.counts.shift,
        "phase_shift": done.phase_shift,
        "thread": done.thread,
        "net_mm": _number(done.net),
        "stretch_pct": _number(stretch_pct(done)),
        "budget": _number(done.budget),
        "outer_mm": _number(done.outer),
        "threads": list(done.threads),
        "closed": done.worked.closed,
    }


def _thread(total: ThreadTotal, thread: Thread) -> Mapping[str, Any]:
    return {
        "net_mm": _number(total.net),
        "total_mm": _number(total.total),
        "grams": _number(total.grams),
        "working_lengths": total.working_lengths,
        "measured_mm": total.measured,
        "balls": total.balls,
        "thickness_mm": _number(thread.thickness),
        "tex": _number(thread.tex),
        "ne": _number(TEX_PER_NE / thread.tex),
        "nm": _number(1000 / thread.tex),
        "denier": _number(9 * thread.tex),
    }


def _mat(lace: Lace) -> Mapping[str, Any]:
    """A mat: wheels, joins, finished size, thread of the whole."""
    mat = lace.mat
    assert mat is not None  # noqa: S101
    wheels = len(mat.centres)
    return {
        "layout": mat.layout,
        "wheels": wheels,
        "joins": len(mat.joins),
        "width_mm": _number(mat.width),
        "height_mm": _number(mat.height),
        "total_mm": {letter: _number(wheels * total.total) for letter, total in lace.totals.items()},
        "grams": {letter: _number(wheels * total.grams) for letter, total in lace.totals.items()},
    }


def _stretch(lace: Lace) -> Mapping[str, Any]:
    if not lace.rounds:
        return {"max_pct": 0.0, "max_budget": 0.0, "round": None}
    tightest = max(lace.rounds, key=lambda done: done.budget)
    return {
        "max_pct": _number(max(stretch_pct(done) for done in lace.rounds)),
        "max_budget": _number(tightest.budget),
        "round": tightest.number,
    }


def _number(value: float) -> float:
    return round(value, PLACES)

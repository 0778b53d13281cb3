"""How a round divides the rays: groups that are tied, bundles that are passed over and under, parts of a wheel."""

import itertools
from collections.abc import Iterator
from dataclasses import dataclass, replace

from pipeline.records import Part, Passed, Round
from pipeline.symbol_model import Stitch


@dataclass(frozen=True, slots=True)
class Item:
    """One entry of a list of group sizes: so many rays, tied or passed over."""

    size: int
    tied: bool = True


Group = tuple[int, ...]
"""The rays of a group or bundle, clockwise."""


@dataclass(frozen=True, slots=True)
class Counts:
    """How a round divides the rays. ``items`` are taken in turn from ray ``shift``; a weave has ``over``, ``under``."""

    items: tuple[Item, ...] = ()
    shift: int = 0
    over: int = 0
    under: int = 0
    back: bool = False
    """Back over ``over`` rays and forward under ``under``."""
    parity: str = "skip"
    """How rows of an even number of bundles come to lie opposite one another."""
    part: Part | None = None
    turned: bool = False
    """Worked there and back on a half-circle: nothing goes on from the last ray to the first."""

    @property
    def period(self) -> int:
        """The number that must divide the rays."""
        if self.items:
            return sum(item.size for item in self.items)
        if self.back:
            return max(1, self.under - self.over)
        return self.over if self.over == self.under else self.over + self.under

    def stretches(self, rays: int) -> tuple[tuple[int, int], ...]:
        """Where the round is worked: first ray and number of rays of each part, or of the whole."""
        if self.part:
            start = self.part.start + self.shift
            return tuple((start + at, self.part.rays) for at in range(0, rays, self.part.every))
        if self.turned:
            return ((self.shift, max(0, rays - self.shift) // self.period * self.period),)
        return ((self.shift, rays),)

    @property
    def there_and_back(self) -> bool:
        """Whether rows turn at an end instead of going round."""
        return self.turned or self.part is not None

    def groups(self, rays: int) -> tuple[tuple[Group, ...], ...]:
        """The rays of every tied group, clockwise, for each stretch."""
        return tuple(tuple(self._groups(start, count, rays)) for start, count in self.stretches(rays))

    def _groups(self, ray: int, count: int, rays: int) -> Iterator[Group]:
        for item in itertools.islice(itertools.cycle(self.items), count // self.period * len(self.items)):
            if item.tied:
                yield tuple((ray + step) % rays for step in range(item.size))
            ray += item.size

    def bundles(self, rays: int) -> tuple[tuple[Group, ...], ...]:
        """The rays of every bundle that a row passes over or under, clockwise, for each stretch."""
        return tuple(tuple(self._bundles(start, count, rays)) for start, count in self.stretches(rays))

    def _bundles(self, start: int, count: int, rays: int) -> Iterator[Group]:
        end = start + (count - 1 if self.parity == "half-ray" else count)
        sizes = itertools.cycle((self.over, self.under))
        ray = start
        while ray < end:
            size = next(sizes)
            if self.parity == "pair-once" and ray == start:
                size += next(sizes)
            yield tuple((ray + step) % rays for step in range(size))
            ray += size

    def crossings(self, rays: int) -> int:
        """How often a row that goes all the way round crosses: bundles, or stitches of a rib."""
        if self.back:
            return rays // self.period
        whole = rays // self.over if self.over == self.under else 2 * rays // (self.over + self.under)
        return whole - 1 if self.parity != "skip" else whole

    def taken(self, rays: int) -> Group:
        """Every ray the round takes, each once."""
        if self.items:
            return tuple(ray for groups in self.groups(rays) for group in groups for ray in group)
        count = -1 if self.parity == "half-ray" else 0
        return tuple((start + step) % rays for start, number in self.stretches(rays) for step in range(number + count))


def counts(stitch: Stitch, entry: Round, rays: int, *, turned: bool) -> Counts:
    """How the round as written divides the rays; ``turned`` on a loom whose rounds are worked there and back."""
    if stitch.edge:
        return Counts((Item(stitch.edge.rays),), stitch.edge.shift, turned=turned)
    told = entry.parameters
    if stitch.behaviour == "weave":
        over, under = told["over"], told["under"]
        counted = Counts(over=over, under=under, back=stitch.back, part=entry.part, turned=turned)
        even = not counted.there_and_back and counted.crossings(rays) % 2 == 0
        return replace(counted, parity=told.get("parity", "skip")) if even else counted
    sizes = told["rays"] if isinstance(told["rays"], tuple) else (told["rays"],)
    items = tuple(Item(item.passed, tied=False) if isinstance(item, Passed) else Item(item) for item in sizes)
    return Counts(items, told["shift"], part=entry.part, turned=turned)

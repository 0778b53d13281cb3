"""What shows a whole catalogue: printed, and as a site; both are made anew as a whole."""

import json
from collections.abc import Iterable, Iterator, Mapping, Sequence
from functools import cached_property
from itertools import chain
from pathlib import Path
from typing import TYPE_CHECKING, Final

from pipeline.commands.voice import say
from pipeline.files import check_file, write_whole
from pipeline.problems import Finding, Problem

if TYPE_CHECKING:
    from pipeline.catalogue.batch import Task
    from pipeline.catalogue.make import Shelf, Subject
    from pipeline.craft.check import Checked
    from pipeline.language.locales import LocaleInfo

SITE: Final = "site"


class Showing:
    """The patterns of a workspace that are without errors, to be shown in some locales."""

    def __init__(self, shelf: "Shelf", locales: "Mapping[str, LocaleInfo]", place: Path, files: Sequence[Path]) -> None:
        self.shelf, self.locales, self.place, self.files = shelf, locales, place, files

    @cached_property
    def subjects(self) -> "list[Subject]":
        """The patterns, ready to be told."""
        from pipeline.catalogue.make import subject_of  # noqa: PLC0415

        return [subject_of(each, self.shelf) for each in self._by_id.values()]

    @cached_property
    def _sound(self) -> "list[Checked]":
        return [each for each in map(check_file, self.files) if each.ok and each.lace]

    @cached_property
    def _by_id(self) -> "dict[str | None, Checked]":
        """Of patterns that share an id the first."""
        first: dict[str | None, Checked] = {}
        for each in self._sound:
            first.setdefault(each.id, each)
        return first

    def clashes(self) -> Iterator[Problem]:
        """Patterns that cannot be shown, because another has their id."""
        for each in self._sound:
            first = self._by_id[each.id]
            if first is not each and each.source:
                facts = {"id": each.id, "other": first.file}
                yield from each.source.locate([Finding("id-taken", ("id",), facts)])

    def print(self, papers: Sequence[str]) -> Iterator[Problem]:
        """A catalogue to print for every locale and paper; its date is that of the newest edition in it."""
        from pipeline.catalogue.printed import Printing, make_printed  # noqa: PLC0415

        if not self.subjects:
            return
        issued = max(subject.pattern.edition.date for subject in self.subjects)
        for paper in papers or (None,):
            printing = Printing(issued, paper)
            for name, data, problems in make_printed(self.subjects, self.shelf, self.locales.values(), printing):
                yield from problems
                yield from self._written(self.place / name, data)

    def build_site(self, tasks: "Iterable[Task]", base: str | None) -> Iterator[Problem]:
        """The site with all leaflets to have; what an earlier one had and this one has not is taken away."""
        from pipeline.catalogue.feeds import manifest, noted  # noqa: PLC0415
        from pipeline.catalogue.site import make_site  # noqa: PLC0415
        from pipeline.language.catalogue import BrokenCatalogue  # noqa: PLC0415
        from pipeline.language.speech import load_speech  # noqa: PLC0415

        folder, seen = self.place / SITE, {}
        before = _listed(folder / "manifest.json")
        speeches = []
        for locale in self.locales.values():
            try:
                speeches.append(load_speech(self.shelf.catalogues, locale))
            except BrokenCatalogue as error:
                yield from error.problems
        to_have: dict[tuple[str, str], list[tuple[str, str]]] = {}
        leaflets = self._to_have(tasks, to_have)
        for name, data in chain(leaflets, make_site(self.subjects, speeches, to_have, base)):
            if name != "manifest.json":
                seen[name] = noted(data)
                if problems := write_whole(data, folder / name):
                    # What the manifest lists stays as long as not all that is to take its place is there.
                    yield from problems
                    return
        if problems := write_whole(manifest(seen), folder / "manifest.json"):
            yield from problems
            return
        say(folder / "index.html")
        for name in sorted(before - set(seen) - {"manifest.json"}):
            (folder / name).unlink(missing_ok=True)

    def _to_have(
        self, tasks: "Iterable[Task]", listed: dict[tuple[str, str], list[tuple[str, str]]]
    ) -> Iterator[tuple[str, bytes]]:
        """The leaflets that are there, by their address in the site; listed by pattern and locale."""
        for task in tasks:
            file = self.place / task.name
            if file.is_file():
                listed.setdefault((task.file.stem, task.tag), []).append((task.paper, f"leaflets/{file.name}"))
                yield f"leaflets/{file.name}", file.read_bytes()

    def _written(self, place: Path, data: bytes | None) -> Iterator[Problem]:
        if data is not None:
            problems = write_whole(data, place)
            yield from problems
            if not problems:
                say(place)


def _listed(file: Path) -> set[str]:
    """The files of an earlier site that are there, those outside it apart."""
    try:
        names = set(map(str, json.loads(file.read_bytes())["files"]))
        return {name for name in names if _is_in(file.parent, name)}
    except (OSError, ValueError, KeyError, TypeError, RecursionError):
        return set()


def _is_in(folder: Path, name: str) -> bool:
    """Whether a file is in a folder, and no link leads to it."""
    place, inside = folder / name, folder.resolve()
    return place.is_file() and place.resolve() == inside / name and (inside / name).is_relative_to(inside)

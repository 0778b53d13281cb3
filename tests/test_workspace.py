"""Workspaces and shipped data."""

from pathlib import Path

from pipeline.workspace import Workspace, shipped, workspace_of


def test_the_nearest_folder_with_patterns_is_the_workspace(tmp_path: Path) -> None:
    """Of two workspaces one inside the other, a file belongs to the inner one, however deep it lies."""
    inner = tmp_path / "shop" / "summer"
    (tmp_path / "patterns").mkdir()
    (inner / "patterns" / "deep").mkdir(parents=True)
    assert workspace_of(inner / "patterns" / "deep" / "a.yaml").root == inner
    assert workspace_of(tmp_path / "shop" / "a.yaml").root == tmp_path


def test_a_file_outside_any_workspace_has_the_shipped_data_alone() -> None:
    """No folder above the root of the disk has patterns; then only the shipped layer is there."""
    outside = workspace_of(Path("/a.yaml"))
    assert outside == Workspace(None)
    assert outside.layers("symbols") == (shipped("symbols"),)
    assert outside.publisher_file is None


def test_a_workspace_lies_on_top_of_the_shipped_data(tmp_path: Path) -> None:
    """Its own folder comes last, and only if it is there."""
    (tmp_path / "patterns").mkdir()
    own = Workspace(tmp_path)
    assert own.layers("symbols") == (shipped("symbols"),)
    (tmp_path / "symbols").mkdir()
    assert own.layers("symbols") == (shipped("symbols"), tmp_path / "symbols")


def test_the_repository_is_a_workspace_whose_data_are_the_shipped_ones() -> None:
    """Its symbols are not laid over themselves."""
    root = shipped("symbols").parent
    assert Workspace(root).layers("symbols") == (shipped("symbols"),)


def test_the_publisher_is_optional(tmp_path: Path) -> None:
    """The publisher's file is named only where it exists."""
    (tmp_path / "patterns").mkdir()
    assert Workspace(tmp_path).publisher_file is None
    file = tmp_path / "patterns" / "publisher.yaml"
    file.write_text("publisher: Example Lace\n", encoding="utf-8")
    assert Workspace(tmp_path).publisher_file == file

"""Who may import whom: one table, counting imports inside functions and for types only."""

from __future__ import annotations

import ast
import subprocess
import sys
from pathlib import Path

import pytest

PACKAGE = Path(__file__).parent.parent / "journal"
# Low floors first; a module imports lower floors, or other modules of its own folder without a ring.
FLOORS = ("ground", "measure", "read", "notes", "model", "judge", "pages", "top")
HEAVY = {"PIL", "numpy", "jinja2", "markdown_it", "rich", "reportlab", "ezdxf", "segno", "watchfiles", "exifread"}


def modules() -> dict[str, Path]:
    return {
        ".".join(path.relative_to(PACKAGE.parent).with_suffix("").parts): path for path in PACKAGE.rglob("*.py")
    }


def floor(module: str) -> str:
    parts = module.split(".")
    return parts[1] if len(parts) > 2 or (len(parts) == 2 and parts[1] in FLOORS) else "top"


def imports(path: Path) -> set[str]:
    """Modules of the package that a file imports, wherever in the file."""
    known = modules()
    found: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.ImportFrom) and node.module and node.module.split(".")[0] == "journal":
            for alias in node.names:
                longer = f"{node.module}.{alias.name}"
                found.add(longer if longer in known else node.module)
        elif isinstance(node, ast.Import):
            found.update(alias.name for alias in node.names if alias.name.split(".")[0] == "journal")
    return found


@pytest.mark.parametrize("module", sorted(modules()))
def test_a_module_imports_lower_floors_only(module: str) -> None:
    mine = FLOORS.index(floor(module))
    wrong = [other for other in imports(modules()[module]) if FLOORS.index(floor(other)) > mine]
    assert not wrong, f"{module} stands below {wrong}"


def test_there_is_no_ring() -> None:
    graph = {module: imports(path) & set(modules()) - {module} for module, path in modules().items()}
    done: set[str] = set()

    def walk(module: str, above: tuple[str, ...]) -> None:
        assert module not in above, " imports ".join((*above[above.index(module) :], module))
        if module not in done:
            for other in sorted(graph.get(module, ())):
                walk(other, (*above, module))
            done.add(module)

    for module in sorted(graph):
        walk(module, ())
    assert len(done) == len(graph)


def test_the_commands_start_without_anything_heavy() -> None:
    """A run that changes nothing must not pay for what it does not use."""
    asked = "import sys, journal.cli, journal.make; print(*sys.modules)"
    loaded = subprocess.run([sys.executable, "-c", asked], capture_output=True, text=True, check=True).stdout.split()
    assert "journal.make" in loaded
    assert not HEAVY & set(loaded)

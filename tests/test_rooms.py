"""Data flows one way: no room imports a room that comes after it."""

import ast
from pathlib import Path

import pytest

PACKAGE = Path(__file__).parent.parent / "seamcheck"
ROOMS = [
    {
        "__init__",
        "errors",
        "exact",
        "exact_arrays",
        "affine",
        "crossing",
        "bezier",
        "arclength",
        "parallel",
        "splines",
        "curve",
        "pen",
    },
    {"marks"},
    {"importers", "toml_tables"},
    {"rule_language"},
    {"direction", "chains", "model", "picture", "digitised", "lettering"},
    {
        "corners",
        "markings",
        "nesting",
        "outline",
        "remarks",
        "plan",
        "settings",
        "shop_rules",
        "corner_matching",
        "naming",
        "blend",
        "evenness",
    },
    {"ring", "sewline", "allowances", "apart"},
    {"pieces"},
    {"graph"},
    {"meeting", "walk"},
    {"baseline"},
    {"checks", "wording"},
    {"rule_checks"},
    {"registry", "result", "notebook", "known"},
    {"folding", "grading", "locating"},
    {"accepting"},
    {"pairing"},
    {"engine"},
    {"truing"},
    {"report"},
    {"builtin", "hooks"},
    {"shop"},
    {"jobs"},
    {"api"},
    {"output", "options"},
    {"cli", "testing", "pytest_plugin"},
    {"__main__"},
]
LEVEL = {room: level for level, rooms in enumerate(ROOMS) for room in rooms}


def _room(module: str) -> str:
    room = module.split(".")[1] if "." in module else "__init__"
    return "__init__" if room.startswith("__") else room  # a name that the package itself gives, say its version


def _runtime_imports(tree: ast.Module) -> list[str]:
    """Modules of the package that are imported when the code runs; imports for the type checker alone do not count."""
    only_for_types = {
        id(node)
        for block in ast.walk(tree)
        if isinstance(block, ast.If) and isinstance(block.test, ast.Name) and block.test.id == "TYPE_CHECKING"
        for node in ast.walk(block)
    }
    found = []
    for node in ast.walk(tree):
        if id(node) in only_for_types:
            continue
        if isinstance(node, ast.ImportFrom) and node.module and node.module.split(".")[0] == "seamcheck":
            if node.module == "seamcheck":
                found += [f"seamcheck.{alias.name}" for alias in node.names]
            else:
                found.append(node.module)
        elif isinstance(node, ast.Import):
            found += [alias.name for alias in node.names if alias.name.startswith("seamcheck.")]
    return found


@pytest.mark.parametrize("path", sorted(PACKAGE.rglob("*.py")), ids=lambda path: str(path.relative_to(PACKAGE)))
def test_no_room_imports_one_that_comes_after_it(path: Path) -> None:
    parts = path.relative_to(PACKAGE).with_suffix("").parts
    room = parts[0]
    assert room in LEVEL, f"{room} has no place in the flow yet"
    for module in _runtime_imports(ast.parse(path.read_text(encoding="utf-8"))):
        other = _room(module)
        assert LEVEL[other] <= LEVEL[room], f"{path.name} imports {module}, which comes after it"

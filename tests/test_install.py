"""The project as it is handed out: what the wheel holds, that it runs anywhere, and what the repository keeps to."""

import ast
import json
import os
import re
import shutil
import subprocess
import sys
import tomllib
import zipfile
from importlib.metadata import packages_distributions
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))
TOP_LEVEL = {"README.md", "DEVELOPERS.md", "pyproject.toml", "triage", "catalog", "tests", "demo"}
PROBLEM = {
    "faults": [{"id": "fuse", "prior": 0.2}, {"id": "switch", "prior": 0.1}],
    "checks": [{"id": "lamp", "leak": 0.0, "links": {"fuse": 1.0, "switch": 1.0}}],
    "evidence": {"lamp": True},
}
MAKE_DEMO = """
import sys
from datetime import date
from pathlib import Path
import triage
from triage.actions.lot_view import lot_view
from triage.bench_file import BenchFile
from triage.demo import make_demo
path = Path(sys.argv[1]) / "demo.db"
make_demo(path, today=date(2026, 12, 1))
with BenchFile(path, today=date(2026, 12, 1)) as bench:
    print(Path(triage.__file__).parent)
    print(len(lot_view(bench).rows))
"""


def tracked():
    """Every file of the repository, as git knows it."""
    git = shutil.which("git") or pytest.skip("no git here")
    listed = subprocess.run([git, "ls-files", "-z"], cwd=ROOT, capture_output=True, check=False)
    if listed.returncode:
        pytest.skip("no repository around the tests")
    return [ROOT / name for name in listed.stdout.decode().split("\0") if name and (ROOT / name).exists()]


def run(*words, at, given=None, paths=()):
    """Run Python there with nothing but these folders before what is installed."""
    details = {name: value for name, value in os.environ.items() if name not in {"PYTHONPATH", "LOTWRIGHT_BENCH"}}
    done = subprocess.run(
        [sys.executable, "-W", "error", *map(str, words)],
        cwd=at,
        input=given,
        capture_output=True,
        check=False,
        text=True,
        env={**details, "PYTHONPATH": os.pathsep.join(map(str, paths))},
    )
    assert done.returncode == 0, done.stderr
    return done.stdout


@pytest.fixture(scope="module")
def wheel(tmp_path_factory):
    """The wheel, built without fetching anything."""
    folder = tmp_path_factory.mktemp("wheel")
    run("-m", "hatchling", "build", "-t", "wheel", "-d", folder, at=ROOT)
    (built,) = folder.glob("*.whl")
    return built


@pytest.fixture(scope="module")
def installed(wheel, tmp_path_factory):
    """A folder with the wheel installed into it."""
    folder = tmp_path_factory.mktemp("installed")
    words = ("install", "-q", "--no-deps", "--no-index", "--disable-pip-version-check", "--target", folder, wheel)
    subprocess.run([sys.executable, "-m", "pip", *map(str, words)], check=True, capture_output=True)
    return folder


@pytest.fixture(params=["wheel", "checkout"])
def copy(request):
    """Where the program is imported from."""
    return request.getfixturevalue("installed") if request.param == "wheel" else ROOT


# ---- the wheel


def test_the_wheel_holds_the_packages_and_their_data_and_nothing_else(wheel):
    held = {name for name in zipfile.ZipFile(wheel).namelist() if ".dist-info/" not in name}
    ours = {path.relative_to(ROOT) for path in tracked()}
    program = {str(path) for path in ours if path.parts[0] in {"triage", "catalog"}}
    demo = {f"triage/demo_files/{path.relative_to('demo')}" for path in ours if path.parts[0] == "demo"}
    assert program <= held
    assert demo <= held
    assert {name.split("/")[0] for name in held} == {"triage", "catalog"}
    assert {"triage/screens/app.tcss", "triage/device_classes/gamepad.toml", "triage/demo_files/units.csv"} <= held
    assert not [name for name in held if "__pycache__" in name or "tests" in name.split("/") or "/test_" in name]


def test_the_wheel_says_what_it_is(wheel):
    with zipfile.ZipFile(wheel) as opened:
        (info,) = [name for name in opened.namelist() if name.endswith(".dist-info/METADATA")]
        facts = opened.read(info).decode()
        entries = opened.read(info.replace("METADATA", "entry_points.txt")).decode()
    assert "Name: lotwright\n" in facts
    assert "Requires-Python: >=3.11\n" in facts
    assert "lotwright = triage.cli:main" in entries
    bounded = [line for line in facts.splitlines() if line.startswith("Requires-Dist: ") and "lotwright[" not in line]
    assert bounded
    assert all("<" in line for line in bounded)


def test_it_runs_from_that_copy(copy, tmp_path):
    def said(*words, given=None):
        return run("-P", "-m", "triage", "--bench", tmp_path / "b.db", *words, at=tmp_path, given=given, paths=[copy])

    where = run(
        "-P", "-c", "import triage, catalog; print(triage.__file__, catalog.__file__)", at=tmp_path, paths=[copy]
    )
    assert where.split() == [str(copy / "triage/__init__.py"), str(copy / "catalog/__init__.py")]
    assert said("--version").strip() == f"lotwright {PROJECT['project']['version']}"
    assert {one["class"] for one in json.loads(said("classes", "--json"))["classes"]} == {
        path.stem for path in (ROOT / "triage/device_classes").glob("*.toml")
    }
    answer = json.loads(said("solve", "diagnosis", "-", given=json.dumps({"id": "dead", **PROBLEM})))
    assert answer["posterior"]["fuse"] == pytest.approx(0.2 / (1 - 0.8 * 0.9))


def test_the_command_itself_starts(installed, tmp_path):
    (script,) = (installed / "bin").glob("lotwright*")
    assert run("-P", script, "--version", at=tmp_path, paths=[installed]).startswith("lotwright ")


def test_the_demo_lot_is_made_from_that_copy(copy, tmp_path):
    where, count = run("-P", "-c", MAKE_DEMO, tmp_path, at=tmp_path, paths=[copy]).split()
    assert Path(where) == copy / "triage"
    rows = (ROOT / "demo/units.csv").read_text("utf-8").splitlines()[1:]
    assert int(count) >= len(rows) > 0


# ---- the repository


def test_only_the_agreed_names_lie_at_the_top():
    tops = {path.relative_to(ROOT).parts[0] for path in tracked()}
    assert {name for name in tops if not name.startswith(".")} == TOP_LEVEL


def test_the_tests_are_no_package_and_their_names_are_their_own():
    files = [path for path in tracked() if ROOT / "tests" in path.parents and path.suffix == ".py"]
    names = [path.name for path in files if path.name != "conftest.py"]
    assert "__init__.py" not in names
    assert sorted(names) == sorted(set(names))


def test_no_file_names_a_machine_or_a_registry():
    words = ("/[h]ome/", "/[U]sers/", "[i]ndex-url", "[p]ypi", "[p]ythonhosted", re.escape(str(ROOT)))
    told = re.compile("|".join(words).encode(), re.IGNORECASE)
    found = [
        (path.relative_to(ROOT), match.group()) for path in tracked() for match in told.finditer(path.read_bytes())
    ]
    assert found == []


def test_there_is_no_lock_file():
    assert not [path for path in tracked() if re.search(r"lock$|\.lock\b|requirements.*\.txt$", path.name)]


def modules():
    return [
        path for path in tracked() if path.suffix == ".py" and path.relative_to(ROOT).parts[0] in {"triage", "catalog"}
    ]


def test_every_module_says_why_it_is_there():
    silent = [path for path in modules() if not (ast.get_docstring(ast.parse(path.read_text("utf-8"))) or "").strip()]
    assert silent == []


def imported(paths):
    """Every module that these files import, as written."""
    for path in paths:
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            if isinstance(node, ast.Import):
                yield from (each.name for each in node.names)
            elif isinstance(node, ast.ImportFrom) and node.module and not node.level:
                yield node.module
                yield from (f"{node.module}.{each.name}" for each in node.names)


def test_no_module_fetches_by_other_means():
    banned = {"requests", "urllib.request", "urllib3", "aiohttp", "ftplib", "http.client"}
    assert banned.isdisjoint(imported(modules()))


def plain(requirement):
    return re.split(r"[\s<>=!~\[;]", requirement)[0].replace("_", "-").lower()


def needed(paths, beside=frozenset()):
    """The distributions that these files import from; `beside` names modules that do not count."""
    givers = packages_distributions()
    tops = {name.split(".")[0] for name in imported(paths)} - set(sys.stdlib_module_names) - {"triage", "catalog"}
    tops = {top for top in tops if top.lower() not in beside}
    assert not [top for top in tops if top not in givers]
    return {plain(givers[top][0]) for top in tops}


def test_what_is_imported_is_what_is_required():
    required = {plain(each) for each in PROJECT["project"]["dependencies"]}
    extras = PROJECT["project"]["optional-dependencies"]
    assert needed(modules()) == required
    tests = [path for path in tracked() if ROOT / "tests" in path.parents and path.suffix == ".py"]
    by_hand = {plain(each) for name in ("bench", "second") for each in extras[name]}
    """Only for what is run by hand, or skipped where it is not there."""
    names = {name.split(".")[0].lower() for name in imported(tests)}
    assert by_hand <= names
    smoke = {plain(each) for each in extras["smoke"]}
    whole = smoke | {plain(each) for each in extras["test"]} - {"lotwright"}
    by_name = {"hatchling", "pytest-asyncio", "pytest-xdist"}
    """Used without being imported: the build, the async tests, the option -n of the test command."""
    beside = {path.stem for path in tests if path.parent == ROOT / "tests" / "bench"} | by_hand
    assert needed(tests, beside) - required | by_name == whole
    assert needed([ROOT / "tests/test_main_job.py"]) - required <= smoke

"""Rules that hold for the whole of voxlog: who may import whom, sizes, names, no network."""

import ast
import re
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
import typer

from voxlog.cli.app import app

ROOT = Path(__file__).parents[1]
MODULES = sorted((ROOT / "voxlog").rglob("*.py"))
TOOLS = sorted((ROOT / "samples_synthetic").rglob("*.py"))

# A stage may import itself, errors.py, and what stands here. The order is that of the data.
MAY_IMPORT: dict[str, set[str]] = {
    "errors": set(),
    "disk": set(),
    "numbers": set(),
    "sheet": {"numbers"},
    "audio": {"disk"},
    "speech": {"numbers", "sheet", "audio"},
    "speaker": {"audio", "speech.utterance"},
    "follow": {"numbers", "sheet", "speech.utterance", "speaker"},
    "log": {"follow.event", "disk"},
    "score": {"follow.event", "log"},
    "report": {"sheet", "follow.event", "log", "score", "profile", "exposures.rules"},
    "pipeline": {"sheet", "audio", "speech", "speaker", "follow", "log"},
    "capture": {"audio", "disk"},
    "voice": {"numbers", "audio", "capture.portaudio"},
    "live": {
        *("numbers", "sheet", "audio", "speech", "speaker", "follow", "log", "report.words"),
        *("capture", "voice"),
    },
    "display": {"live.state", "report.words"},
    "profile": {"sheet", "follow.event"},
    "exposures": {"sheet", "follow.event", "log", "profile", "export.source", "review"},
    "export": {"follow.event", "log", "review"},
    "archive": {"follow.event", "log", "review.decision", "sheet", "speech", "pipeline", "export"},
    "audit": {"log", "archive"},
    "review": {"follow.event", "log"},
    "learn": {"sheet", "follow.event", "log", "review"},
    "debrief": {
        *("sheet", "audio", "follow.event", "log", "review", "profile"),
        *("report.summary", "report.words"),
    },
    "cli": {
        *("sheet", "audio", "follow.event", "log", "score", "report", "pipeline"),
        *("capture", "voice", "live.record", "live.listener", "live.ending", "live.resume"),
        "display",
        *("export", "archive", "audit"),
        *("profile", "exposures"),
        *("review", "review_page", "learn"),
        "debrief",
    },
    "review_page": {"sheet", "audio", "follow.event", "log", "report.words", "review"},
    "__main__": {"cli"},
}

PURE = ("numbers", "sheet", "speaker", "follow", "score", "profile")
"""Stages that neither read nor write; sheet/load.py is the one module of them that opens a file."""

PURE_MODULES = {
    *("review/decision", "review/outcome", "review/section", "review/signature"),
    *("learn/lesson", "learn/proposal", "learn/change", "learn/yaml_edit", "learn/unit"),
}
"""The pure core of stages that read or write elsewhere."""

IMPURE = {
    *("io", "logging", "os", "pathlib", "shutil", "socket", "subprocess", "sys", "tempfile"),
    *("threading", "time", "asyncio", "concurrent", "multiprocessing", "urllib"),
    *("av", "ctranslate2", "faster_whisper", "huggingface_hub", "onnxruntime", "sounddevice"),
    *("soundfile", "soxr", "threadpoolctl", "tokenizers"),
    *("pandas", "rich", "scipy", "typer"),
}


def module_name(path: Path) -> str:
    return str(path.relative_to(ROOT))


def stage_of(path: Path) -> str:
    return path.relative_to(ROOT / "voxlog").with_suffix("").parts[0]


def is_pure(path: Path) -> bool:
    inner = path.relative_to(ROOT / "voxlog").with_suffix("").as_posix()
    return stage_of(path) in PURE or inner in PURE_MODULES


def imports_of(path: Path) -> Iterator[str]:
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            yield from (name.name for name in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, "relative import"
            assert node.module is not None
            yield node.module
            # `from voxlog.cli import log` names a module too.
            yield from (f"{node.module}.{name.name}" for name in node.names)


def is_within(module: str, allowed: set[str]) -> bool:
    return any(module == name or module.startswith(f"{name}.") for name in allowed)


@pytest.mark.parametrize("path", MODULES, ids=module_name)
def test_imports_go_one_way(path: Path) -> None:
    stage = stage_of(path)
    if stage == "__init__":
        assert not [name for name in imports_of(path) if name.startswith("voxlog")]
        return
    allowed = MAY_IMPORT[stage] | {stage, "errors", "__version__"}
    for module in imports_of(path):
        inner = module.removeprefix("voxlog.")
        if inner != module:
            assert is_within(inner, allowed) or any(is_within(a, {inner}) for a in allowed), module


@pytest.mark.parametrize("path", list(filter(is_pure, MODULES)), ids=module_name)
def test_the_core_does_no_input_or_output(path: Path) -> None:
    reads_sheets = path == ROOT / "voxlog/sheet/load.py"
    forbidden = IMPURE - ({"pathlib"} if reads_sheets else set())
    assert not {module.split(".")[0] for module in imports_of(path)} & forbidden
    called = {
        node.func.id
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name)
    }
    assert not called & {"open", "print", "input", "__import__", "eval", "exec"}


@pytest.mark.parametrize("path", [*MODULES, *TOOLS], ids=module_name)
def test_modules_are_short_enough_to_read(path: Path) -> None:
    assert len(path.read_text(encoding="utf-8").splitlines()) <= 400


@pytest.mark.parametrize("path", [*MODULES, *TOOLS], ids=module_name)
def test_all_names_what_a_module_offers(path: Path) -> None:
    """Every public function and class, and nothing that is not there; sorted by ruff's RUF022."""
    body = ast.parse(path.read_text(encoding="utf-8")).body
    offered: list[str] = []
    defined: set[str] = set()
    public: set[str] = set()
    for node in body:
        if isinstance(node, ast.FunctionDef | ast.ClassDef):
            defined.add(node.name)
            public |= set() if node.name.startswith("_") else {node.name}
        elif isinstance(node, ast.Assign):
            names = {name.id for name in node.targets if isinstance(name, ast.Name)}
            defined |= names
            if "__all__" in names:
                offered = ast.literal_eval(node.value)
        elif isinstance(node, ast.AnnAssign) and isinstance(node.target, ast.Name):
            defined.add(node.target.id)
        elif isinstance(node, ast.ImportFrom):
            defined |= {name.asname or name.name for name in node.names}
    is_program = path.name == "__main__.py"
    assert is_program or public <= set(offered)
    assert set(offered) <= defined
    assert len(set(offered)) == len(offered)


def commands(program: typer.Typer, prefix: str = "voxlog") -> Iterator[str]:
    for command in program.registered_commands:
        assert command.callback is not None
        yield f"{prefix} {command.name or command.callback.__name__}"
    for group in program.registered_groups:
        assert group.typer_instance is not None
        yield from commands(group.typer_instance, f"{prefix} {group.name}")


def options(command: str) -> set[str]:
    done = subprocess.run(
        [sys.executable, "-m", *command.split(), "--help"],
        capture_output=True,
        text=True,
        check=True,
        cwd=ROOT,
    )
    return set(re.findall(r"^\s+(--[a-z]+)", done.stdout, re.MULTILINE))


@pytest.mark.parametrize("command", list(commands(app)))
def test_every_command_and_option_is_in_the_readme(command: str) -> None:
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    section = readme.split("\n## Commands\n")[1].split("\n## ")[0]
    assert command in section
    for option in options(command):
        assert option in section, option


def shipped() -> set[str]:
    """The top level of what is committed; of everything, where there is no repository."""
    listed = subprocess.run(
        ["git", "ls-files"], capture_output=True, text=True, check=False, cwd=ROOT
    )
    if listed.returncode == 0:
        return {line.split("/")[0] for line in listed.stdout.splitlines()}
    return {path.name for path in ROOT.iterdir() if not path.name.startswith(".")}


def test_the_top_level_is_the_one_planned() -> None:
    planned = {
        *("voxlog", "grammars", "samples_synthetic", "tests"),
        *("README.md", "DEVELOPERS.md", "LICENSE", "pyproject.toml"),
        *("requirements.lock", ".ci", ".gitignore"),
    }
    assert shipped() <= planned


def test_ci_runs_the_command_of_the_readme() -> None:
    """It takes the line out of the README, so that line must be there, once."""
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    lines = [line for line in readme.splitlines() if "-r tests/requirements.lock" in line]
    assert len(lines) == 1
    assert lines[0].startswith("python3 -m venv .venv && ")
    assert ".venv/bin/pytest" in lines[0]

"""What a newcomer meets: the listing, the two commands, help that answers at once."""

import fnmatch
import re
import subprocess
import sys
from pathlib import Path

import typer.main

from castplan import cli

HOME = Path(__file__).parents[2]

TOP_LEVEL = {
    "README.md",
    "DEVELOPERS.md",
    "SAFETY.md",
    "pyproject.toml",
    "castplan",
    "tests",
    "sample_parts",
}
FIRST_PLAN = (
    "python3 -m venv .venv && .venv/bin/pip install . && "
    ".venv/bin/castplan plan sample_parts/coat_hook.stl --units mm --out plan"
)
RUN_TESTS = (
    "python3 -m venv .venv && .venv/bin/pip install '.[test]' && "
    ".venv/bin/python -m pytest -n auto --dist loadfile"
)
RUN_ALL = ".venv/bin/python -m pytest -q --long -n 2 --dist loadfile"
HEAVY = {
    "dask",
    "distributed",
    "numpy",
    "scipy",
    "numba",
    "llvmlite",
    "trimesh",
    "matplotlib",
    "shapely",
    "igl",
    "manifold3d",
    "networkx",
    "lxml",
    "contourpy",
    "PIL",
    "rich",
}


def readme():
    return (HOME / "README.md").read_text(encoding="utf-8")


def shell_blocks(text):
    """The fenced ``sh`` blocks of a page."""
    return [block.strip() for block in re.findall(r"^```sh\n(.*?)^```", text, re.M | re.S)]


def leaves(group, prefix=""):
    """Every command by the words that call it, groups opened."""
    for name, command in group.commands.items():
        if hasattr(command, "commands"):
            yield f"{prefix}{name}", command
            yield from leaves(command, f"{prefix}{name} ")
        else:
            yield f"{prefix}{name}", command


def commands():
    """Each command's first word, with the options that it and those below it offer."""
    offered = {}
    for words, command in leaves(typer.main.get_command(cli.app)):
        flags = {flag for parameter in command.params for flag in parameter.opts if flag[0] == "-"}
        offered.setdefault(words.split()[0], set()).update(flags)
    return offered


def undocumented(text):
    """Commands that a page does not show being used."""
    return [name for name in commands() if not re.search(rf"castplan {name}\b", text)]


def invented(text):
    """Options after a ``castplan COMMAND`` on a page that the command does not have."""
    offered = commands()
    bad = []
    for name, rest in re.findall(r"castplan (\w+)\b([^`\n]*)", text):
        options = set(re.findall(r"(?<!\S)--[a-z][a-z-]*", rest))
        if extra := sorted(options - offered.get(name, set()) - {"--help"}):
            bad.append(f"{name}: {', '.join(extra)}")
    return bad


def top_level():
    """The names that the project is seen with; without git, what is not ignored."""
    if (HOME / ".git").exists():
        listed = subprocess.run(
            ["git", "ls-files"], cwd=HOME, capture_output=True, text=True, check=True
        ).stdout.splitlines()
        names = {name.split("/")[0] for name in listed}
    else:
        ignored = (HOME / ".gitignore").read_text(encoding="utf-8").split()
        names = {
            path.name
            for path in HOME.iterdir()
            if not any(fnmatch.fnmatch(f"{path.name}/", rule) for rule in ignored)
        }
    return {name for name in names if not name.startswith(".")}


def test_the_top_level_is_seven_names():
    assert top_level() == TOP_LEVEL


def test_the_readme_starts_with_the_two_commands():
    assert shell_blocks(readme())[:2] == [FIRST_PLAN, RUN_TESTS]


def test_the_commands_need_files_that_are_there():
    for name in re.findall(r"sample_parts/\S+", FIRST_PLAN):
        assert (HOME / name).is_file()


def test_ci_runs_the_readmes_tests_and_the_long_ones():
    script = (HOME / ".ci" / "run").read_text(encoding="utf-8")
    lines = [line.replace('"$venv"', ".venv") for line in script.splitlines()]
    wanted = [*RUN_TESTS.split(" && ")[:-1], RUN_ALL]
    assert [line for line in lines if line in wanted] == wanted


def test_every_command_is_in_the_readme_with_options_that_exist():
    assert undocumented(readme()) == []
    assert invented(readme()) == []


def test_every_command_and_option_has_help():
    told = dict(leaves(typer.main.get_command(cli.app)))
    assert "materials add" in told
    for words, command in told.items():
        assert command.help, words
        assert command.epilog, words
        for parameter in command.params:
            assert parameter.help, f"{words} {parameter.name}"


def test_the_readme_tests_can_fail():
    assert undocumented("castplan plan a.stl") == [name for name in commands() if name != "plan"]
    assert invented("castplan plan a.stl --out b --fast --units mm") == ["plan: --fast"]
    assert invented("castplan bake a.stl --hot") == ["bake: --hot"]
    assert shell_blocks("```sh\na\n```\ntext\n```toml\nb\n```\n```sh\nc\n```\n") == ["a", "c"]


def loaded_by(code):
    """Heavy modules that a fresh Python has loaded after `code`."""
    ask = f"{code}\nimport sys\nprint(' '.join(sorted({{n.split('.')[0] for n in sys.modules}})))"
    result = subprocess.run([sys.executable, "-c", ask], capture_output=True, text=True, check=True)
    return HEAVY & set(result.stdout.splitlines()[-1].split())


def test_help_loads_nothing_heavy():
    show = (
        "import sys; sys.argv = ['castplan', {}]\nfrom castplan.cli import main\n"
        "try:\n    main()\nexcept SystemExit as ended:\n    assert not ended.code"
    )
    for arguments in ("'--help'", "'plan', '--help'", "'batch', '--help'", "'--version'"):
        assert loaded_by(show.format(arguments)) == set()


def test_the_help_test_can_fail():
    assert "numpy" in loaded_by("import castplan.records")

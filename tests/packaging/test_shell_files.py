"""Completion and the man page agree with the parser, and the shells take them."""

from __future__ import annotations

import shutil
import subprocess
import sys

import pytest

from tests.packaging.shell_files import FOLDER, files


@pytest.mark.skipif(
    sys.version_info[:2] != (3, 11), reason="later Pythons lay usage out differently"
)
def test_the_files_of_the_shells_are_those_of_the_parser() -> None:
    for name, text in files().items():
        assert (FOLDER / name).read_text("utf-8") == text, (
            f"docs/shell/{name} is stale: make shell-files"
        )


ASK = {
    "bash": "source {file}; COMP_WORDS=(sumpgate live --pl); COMP_CWORD=2; "
    "_shtab_sumpgate; echo ${{COMPREPLY[@]}}",
    "fish": "source {file}; complete -C 'sumpgate live --pl'",
    "zsh": "autoload -U compinit; compinit -D; source {file}; "
    "(( $+functions[_shtab_sumpgate] )) && echo --plain",
}


@pytest.mark.parametrize(
    ("shell", "name"),
    [("bash", "sumpgate"), ("zsh", "_sumpgate"), ("fish", "sumpgate.fish")],
)
def test_a_shell_completes_a_flag(shell: str, name: str) -> None:
    if shutil.which(shell) is None:
        pytest.skip(f"no {shell} here")
    file = FOLDER / name
    said = subprocess.run(
        [shell, "-c", ASK[shell].format(file=file)], capture_output=True, text=True
    )
    assert said.stdout.split()[:1] == ["--plain"], said.stderr

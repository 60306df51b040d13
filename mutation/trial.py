"""One room's faults: made, sampled, tried by mutmut, and read back."""

import json
import os
import random
import subprocess
import sys
from collections.abc import Mapping
from contextlib import chdir
from pathlib import Path

from mutmut.configuration import reset_config
from mutmut.mutation.file_mutation import MutatedFile, mutate_file_contents
from mutmut.stats import status_by_exit_code
from mutmut.utils.format_utils import (
    get_mutant_name,
    mangled_name_from_mutant_name,
    orig_function_and_class_names_from_key,
)

from mutation.faults import Fault, changed, definition, only_words

SURVIVED = {"survived", "no tests"}


def faults_of(module: str, folder: Path) -> list[Fault]:
    """Every fault mutmut can put into a module, but for those that change only words."""
    source = (folder / module).read_text("utf-8")
    with chdir(folder):  # where mutmut looks for its settings
        reset_config()
        mutated = mutate_file_contents(module, source)
    found = (_fault(name, module, source, mutated) for name in mutated.mutant_names)
    return [fault for fault in found if not only_words(fault.change)]


def _fault(name: str, module: str, source: str, mutated: MutatedFile) -> Fault:
    lines = mutated.code.split("\n")
    spans = mutated.line_span_by_function_name
    was, now = (
        lines[spans[each].start - 1 : spans[each].end]
        for each in (f"{mangled_name_from_mutant_name(name)}__mutmut_orig", name)
    )
    start = definition(source, *orig_function_and_class_names_from_key(name))
    full = get_mutant_name(Path(module), name)
    return Fault(full, module, *changed(was, now, start))


def sample(faults: list[Fault], size: int | None, seed: int) -> list[Fault]:
    """The same sample for the same seed, whatever happens to other modules."""
    if size is None or size >= len(faults):
        return faults
    chance = random.Random(f"{seed} {faults[0].module}")  # noqa: S311  no secret
    return sorted(chance.sample(faults, size))


def try_out(faults: list[Fault], folder: Path) -> dict[str, str]:
    """What became of each fault, by its name: `killed`, `timeout`, `survived`, `no tests`."""
    command = [sys.executable, "-m", "mutmut", "run", "--max-children", _workers()]
    log = folder / "mutmut.log"
    with log.open("w", encoding="utf-8") as said:
        done = subprocess.run(  # noqa: S603  a command of our own
            [*command, *(fault.name for fault in faults)],
            cwd=folder,
            env=os.environ | {"HYPOTHESIS_PROFILE": "quick", "PYTHONDONTWRITEBYTECODE": "1"},
            stdout=said,
            stderr=subprocess.STDOUT,
            check=False,
        )
    if done.returncode:
        sys.exit(f"mutmut could not run; its last words:\n{log.read_text('utf-8')[-3000:]}")
    return _outcomes(faults, folder)


def _workers() -> str:
    return os.environ.get("WORKERS", "1")


def _outcomes(faults: list[Fault], folder: Path) -> dict[str, str]:
    codes: dict[str, int | None] = {}
    for module in {fault.module for fault in faults}:
        meta: Mapping[str, Mapping[str, int | None]] = json.loads(
            (folder / "mutants" / f"{module}.meta").read_text("utf-8")
        )
        codes |= meta["exit_code_by_key"]
    return {fault.name: status_by_exit_code[codes[fault.name]] for fault in faults}

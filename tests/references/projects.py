#!/usr/bin/env python3
"""Every project of the repository, held against the printed schema by an independent validator: what the program takes an
editor with the schema must take too. A key that the schema does not know is not taken (so the check can fail).

The validator is the Python package jsonschema (4.x). Needs the built program:

    projects.py [--check] [PROGRAM]
"""

import copy
import json
import pathlib
import subprocess
import sys
import tomllib

import jsonschema

ROOT = pathlib.Path(__file__).resolve().parents[2]
FOLDERS = {"screens": "screen", "parts": "part", "strings": "strings"}


def schemas(program):
    def printed(kind):
        return json.loads(subprocess.run([program, "schema", kind], check=True, capture_output=True).stdout)

    return {kind: jsonschema.validators.validator_for(text)(text) for kind in ["device", *FOLDERS.values()] for text in [printed(kind)]}


def files():
    """Each file of a project with its kind."""
    for project in sorted(path.parent for path in ROOT.glob("**/device.toml")):
        inside = project.relative_to(ROOT).parts
        # The faulty project is there to be refused.
        if "target" in inside or "faulty" in inside:
            continue
        yield project / "device.toml", "device"
        for folder, kind in FOLDERS.items():
            yield from ((file, kind) for file in sorted((project / folder).glob("*.toml")))


def main(arguments):
    names = [argument for argument in arguments if not argument.startswith("--")]
    known = schemas(names[0] if names else str(ROOT / "target/release/inkjoule"))
    count = 0
    for file, kind in files():
        content = tomllib.loads(file.read_text())
        faults = [f"{file.relative_to(ROOT)}: {fault.json_path}: {fault.message}" for fault in known[kind].iter_errors(content)]
        assert not faults, "\n".join(faults)
        if kind in ("device", "screen"):
            wrong = copy.deepcopy(content) | {"no-such-key": 1}
            assert not known[kind].is_valid(wrong), f"{file}: a key that there is not"
        count += 1
    assert count > 50, count
    print(f"{count} files of projects are as the schema says")


if __name__ == "__main__":
    main(sys.argv[1:])

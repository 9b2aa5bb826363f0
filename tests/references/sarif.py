#!/usr/bin/env python3
"""What `check --format sarif` prints, held against the standard by an independent validator.

The schema is the one that OASIS published with SARIF 2.1.0 ("sarif-2.1.0-rtm.5.json"), as the npm package
@microsoft/jest-sarif 1.0.0-beta.0 carries it; the validator is the Python package jsonschema (4.x). Rules of the text that
no schema can hold (the section stands beside each) are checked here too. Needs npm, jsonschema and the built program:

    sarif.py [--check] [--schema FILE] [PROGRAM]
"""

import json
import pathlib
import re
import subprocess
import sys
import tarfile
import tempfile
from urllib.parse import unquote

import jsonschema

ROOT = pathlib.Path(__file__).resolve().parents[2]
PACKAGE = "@microsoft/jest-sarif@1.0.0-beta.0"
INSIDE = "package/lib/schemas/sarif-2.1.0-rtm.5.json"


def schema(given):
    if given:
        return json.loads(pathlib.Path(given).read_text())
    with tempfile.TemporaryDirectory() as folder:
        packed = subprocess.run(["npm", "pack", "--silent", PACKAGE], cwd=folder, check=True, capture_output=True, text=True)
        with tarfile.open(pathlib.Path(folder) / packed.stdout.split()[-1]) as archive:
            return json.load(archive.extractfile(INSIDE))


def log(program, folder, arguments, status):
    ran = subprocess.run([program, "check", "--format", "sarif", *arguments], cwd=folder, capture_output=True)
    assert ran.returncode == status, (arguments, ran.returncode, ran.stderr)
    return json.loads(ran.stdout.decode("utf-8"))


def placeholders(text):
    """Braces that are not doubled (section 3.11.5)."""
    return re.findall(r"[{}]", text.replace("{{", "").replace("}}", ""))


def rules_of_the_text(log, folder, changed):
    (run,) = log["runs"]
    rules = run["tool"]["driver"]["rules"]
    ids = [rule["id"] for rule in rules]
    assert len(set(ids)) == len(ids), "3.49.3: ids are unique"
    assert run["columnKind"] == "unicodeCodePoints"
    texts = [rule[part]["text"] for rule in rules for part in ("shortDescription", "fullDescription", "help")]
    for result in run["results"]:
        assert ids[result["ruleIndex"]] == result["ruleId"], "3.27.6: index and id name one rule"
        texts.append(result["message"]["text"])
        for location in result.get("locations", []):
            if "physicalLocation" not in location:
                continue
            artifact = location["physicalLocation"]["artifactLocation"]
            assert artifact["uriBaseId"] in run["originalUriBaseIds"], "3.4.4"
            assert not re.match(r"^[a-z]+:|^/", artifact["uri"]), "3.4.4: with a base, the path is relative"
            base = run["originalUriBaseIds"][artifact["uriBaseId"]].get("uri")
            name = unquote(artifact["uri"])
            path = pathlib.Path(unquote(base[7:]) if base else folder) / name
            region = location["physicalLocation"].get("region")
            if region is None:
                # 3.29.4: without a region, the result is about the file as a whole.
                assert path.is_file(), path
                continue
            if changed:
                # Places are those of the text with the changes of --set, which is in no file.
                continue
            lines = path.read_bytes().decode("utf-8").split("\n")
            assert 1 <= region["startLine"] <= region["endLine"] <= len(lines), "3.30.5"
            # Python counts code points, as the log says it does.
            assert 1 <= region["startColumn"] <= len(lines[region["startLine"] - 1]) + 1, (path, region)
            assert 1 <= region["endColumn"] <= len(lines[region["endLine"] - 1]) + 1, (path, region)
    assert all(text.strip() and not placeholders(text) for text in texts), "3.11.5"
    return len(run["results"])


def main():
    arguments = [argument for argument in sys.argv[1:] if argument != "--check"]
    given = None
    if "--schema" in arguments:
        at = arguments.index("--schema")
        given = arguments[at + 1]
        del arguments[at : at + 2]
    program = str(pathlib.Path(arguments[0] if arguments else ROOT / "target/release/inkjoule").resolve())
    loaded = schema(given)
    validator = jsonschema.validators.validator_for(loaded)
    validator.check_schema(loaded)
    check = validator(loaded, format_checker=validator.FORMAT_CHECKER)

    with tempfile.TemporaryDirectory() as folder:
        hostile = pathlib.Path(folder) / "ein Gerät 😀 #1"
        subprocess.run([program, "new", str(hostile)], check=True, capture_output=True)
        screen = hostile / "screens" / "h%ö {0} [a](b).toml"
        screen.write_text('title = "😀😀"; x = "{0} \\u001b[31m"\ncontent = [{ text = "\u202e😀 {nothing}" }]\n', encoding="utf-8")
        cases = [
            (ROOT, ["screens-demo"], 0),
            (ROOT, ["tests/faulty"], 1),
            (ROOT, ["tests/faulty", "--set", "battery.capacity=9 bananas"], 2),
            (ROOT / "tests", [str(ROOT / "screens-demo"), "--set", "limits.life=90 year"], 1),
            (folder, [hostile.name], 2),
            (hostile, [], 2),
        ]
        for place, words, status in cases:
            found = log(program, place, words, status)
            errors = list(check.iter_errors(found))
            assert not errors, (words, [(list(error.absolute_path), error.message) for error in errors[:3]])
            print(f"{' '.join(words) or '.'}: valid, {rules_of_the_text(found, place, '--set' in words)} results")


if __name__ == "__main__":
    main()

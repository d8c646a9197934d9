"""What the tests of schemas/json share: its schemas behind an independent validator (Debian's
python3-jsonschema), YAML as an editor reads it, and the built program.

YAML is read in two ways, since editors differ: by the core schema of YAML 1.2 (`no` is text, `0x82` a
number), and by that of YAML 1.1 (`no` is a boolean, `22:00` a number). A file that vergeset takes must
validate in both."""

import functools
import itertools
import json
import os
import pathlib
import re
import subprocess

import jsonschema
import yaml

SOURCE = pathlib.Path(__file__).resolve().parents[2]
SCHEMAS = SOURCE / "schemas" / "json"
PROGRAM = os.environ.get("VERGESET", str(SOURCE / "build" / "vergeset"))

# Which schema a file of a fleet has.
OF_FILE = {"fleet.yaml": "fleet.json", "units.yaml": "units.json", "groups": "group.json",
           "models": "model.json", "models/common.yaml": "common.json"}


class Core(yaml.CSafeLoader):
    """The core schema of YAML 1.2 (YAML 1.2.2, 10.3.2), without merge keys, which vergeset does not know."""


Core.yaml_implicit_resolvers = {}
for tag, pattern, first in (
        ("null", r"~|null|Null|NULL|", ["~", "n", "N", ""]),
        ("bool", r"true|True|TRUE|false|False|FALSE", list("tTfF")),
        ("int", r"[-+]?[0-9]+|0o[0-7]+|0x[0-9a-fA-F]+", list("-+0123456789")),
        ("float", r"[-+]?(?:\.[0-9]+|[0-9]+(?:\.[0-9]*)?)(?:[eE][-+]?[0-9]+)?|[-+]?\.(?:inf|Inf|INF)|"
                  r"\.(?:nan|NaN|NAN)", list("-+.0123456789"))):
    Core.add_implicit_resolver("tag:yaml.org,2002:" + tag, re.compile(f"^(?:{pattern})$"), first)


class Older(yaml.CSafeLoader):
    """YAML 1.1."""


def _map(loader, node):
    # JSON has no keys but texts; what an editor shows is what was written.
    return {key.value if isinstance(key, yaml.ScalarNode) else str(key): loader.construct_object(value, deep=True)
            for key, value in node.value}


def _int(loader, node):
    text = node.value.replace("_", "")
    if text.startswith("0o"):
        return int(text, 8)
    return int(text, 16) if text.lower().startswith("0x") else int(text)


for reader in (Core, Older):
    reader.add_constructor("tag:yaml.org,2002:map", _map)
    reader.add_constructor("tag:yaml.org,2002:timestamp", lambda loader, node: node.value)
    # `=` and `<<` are types of YAML 1.1 that no editor makes anything of.
    reader.add_constructor("tag:yaml.org,2002:value", lambda loader, node: node.value)
    reader.add_constructor("tag:yaml.org,2002:merge", lambda loader, node: node.value)
Core.add_constructor("tag:yaml.org,2002:int", _int)

READINGS = (Core, Older)


@functools.lru_cache(maxsize=None)
def read_json(path):
    """Kept: a test changes no schema."""
    return json.loads(pathlib.Path(path).read_text(encoding="utf-8"))


class Validators:
    """The validators of a folder of schemas, with what they refer to."""

    def __init__(self, folder=SCHEMAS):
        self.folder = pathlib.Path(folder)
        self._known = {}
        self._store = {}
        for path in self.folder.rglob("*.json"):
            self._store[path.resolve().as_uri()] = read_json(path)

    def get(self, name):
        if name not in self._known:
            uri = (self.folder / name).resolve().as_uri()
            resolver = jsonschema.RefResolver(uri, self._store[uri], store=self._store)
            self._known[name] = jsonschema.Draft7Validator(self._store[uri], resolver=resolver)
        return self._known[name]

    def faults(self, name, instance):
        """What is wrong at first, each as `path: why`; nothing where the instance is valid."""
        return [f"{'/'.join(map(str, error.absolute_path)) or '(top)'}: {error.message[:300]}"
                for error in itertools.islice(self.get(name).iter_errors(instance), 3)]

    def faults_of_yaml(self, name, text, reader=Core):
        try:
            instance = yaml.load(text, Loader=reader)
        except (yaml.YAMLError, ValueError) as error:
            return [f"no YAML: {error}"]
        return self.faults(name, instance)


def schema_of(path):
    """The schema of a file within a fleet; nothing where it has none."""
    path = pathlib.PurePath(path)
    if path.suffix != ".yaml":
        return None
    return OF_FILE.get(str(path)) or OF_FILE.get(path.parts[0])


def yaml_files(folder):
    """The files of a fleet that have a schema, each with it."""
    for path in sorted(pathlib.Path(folder).rglob("*.yaml")):
        schema = schema_of(path.relative_to(folder))
        if schema:
            yield path, schema


def vergeset(*words, **more):
    """Runs the program, and holds what it printed."""
    more.setdefault("env", dict(os.environ, NO_COLOR="1"))
    return subprocess.run([PROGRAM, *map(str, words)], capture_output=True, text=True, timeout=60,
                          stdin=subprocess.DEVNULL, check=False, **more)

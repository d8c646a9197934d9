#!/usr/bin/python3
"""The schemas themselves, and the names in them: what they know is what the program knows."""

import json
import pathlib
import re
import tempfile
import unittest

import jsonschema
import yaml

import schemas
from schemas import SCHEMAS, Validators, read_json, vergeset

# A map of each kind of file, and where the keys of its schema stand. `@` is where a key that nobody knows is
# put: the program then tells which it knows there.
PLACES = [
    ("fleet.yaml", "@", "fleet.json", ""),
    ("fleet.yaml", "credentials: {c: {user: u, @}}", "fleet.json", "/definitions/credential/anyOf/0"),
    ("fleet.yaml", "credentials: {c: {version: 1, @}}", "fleet.json", "/definitions/credential/anyOf/1"),
    ("fleet.yaml", "credentials: {c: {transport: tls, @}}", "fleet.json", "/definitions/credential/anyOf/2"),
    ("fleet.yaml", "key-store: {@}", "fleet.json", "/properties/key-store"),
    ("fleet.yaml", "tables: {store-and-repeat: {@}}", "names.json",
     "/definitions/tables/properties/store-and-repeat"),
    ("fleet.yaml", "traits: {rsuMode: {@}}", "names.json", "/definitions/traits-of-one"),
    ("fleet.yaml", "only: {rsu-4.1: {@}}", "names.json", "/definitions/block"),
    ("units.yaml", "@", "units.json", ""),
    ("units.yaml", "units: {LK-1: {@}}", "units.json", "/definitions/unit"),
    ("groups/all.yaml", "@", "group.json", ""),
    ("models/own.yaml", "model: own\n@", "model.json", ""),
    ("models/own.yaml", "model: own\nroot: 1.3.6.1\nidentity: {@}", "model.json", "/properties/identity"),
    ("models/own.yaml", "model: own\nroot: 1.3.6.1\nmode: {@}", "model.json", "/properties/mode"),
    ("models/own.yaml", "model: own\nroot: 1.3.6.1\nrecognise: {@}", "model.json", "/properties/recognise"),
    ("models/own.yaml", "model: own\nroot: 1.3.6.1\nscalars: {s: {syntax: Integer32, @}}", "model.json",
     "/definitions/scalar"),
    ("models/own.yaml", "model: own\nroot: 1.3.6.1\ntables: {t: {@}}", "model.json", "/definitions/table"),
    ("models/own.yaml", "model: own\nroot: 1.3.6.1\ntables: {t: {columns: {c: {syntax: Integer32, @}}}}",
     "model.json", "/definitions/column"),
    ("models/common.yaml", "@", "common.json", ""),
    ("models/common.yaml", "settings: {new-name: {@}}", "common.json", "/definitions/common"),
    ("models/common.yaml", "tables: {new-table: {@}}", "common.json",
     "/properties/tables/additionalProperties"),
    ("models/common.yaml", "settings: {new-name: {about: x, on: {rsu-4.1: {object: rsuMode, @}}}}", "common.json",
     "/definitions/on/additionalProperties/anyOf/1"),
    ("models/common.yaml", "settings: {new-name: {about: x, elsewhere: {@}, on: {}}}", "common.json",
     "/definitions/common/properties/elsewhere/anyOf/1"),
]

# A value that nobody knows, where the program tells which words it knows.
WORDS = [
    ("fleet.yaml", "credentials: {c: {user: u, auth: SHA-257}}", r"expected one of (.*) for auth",
     "fleet.json", "/definitions/credential/anyOf/0/properties/auth/enum"),
    ("fleet.yaml", "credentials: {c: {user: u, privacy: AES-129}}", r"expected one of (.*) for privacy",
     "fleet.json", "/definitions/credential/anyOf/0/properties/privacy/enum"),
    ("models/own.yaml", "model: own\nroot: 1.3.6.1\nscalars: {s: {oid: 1, syntax: Integer32, access: x}}",
     r"an access is one of (.*); found", "model.json", "/definitions/scalar/properties/access/enum"),
    ("models/own.yaml", "model: own\nroot: 1.3.6.1\nscalars: {s: {oid: 1, syntax: Integer32, traits: [x]}}",
     r"a trait is one of (.*); found", "model.json", "/definitions/scalar/properties/traits/anyOf/0/enum"),
    ("models/own.yaml", "model: own\nroot: 1.3.6.1\ntables: {t: {oid: 1, index: i, columns: {}, traits: x}}",
     r"a trait of a table is one of (.*); found", "model.json",
     "/definitions/table/properties/traits/anyOf/0/enum"),
    ("models/own.yaml", "model: own\nroot: 1.3.6.1\ntables: {t: {oid: 1, index: i, columns: {}, edit: x}}",
     r"the edit of a row is one of (.*); found", "model.json", "/definitions/table/properties/edit/enum"),
]

LEAST = {"fleet.yaml": "fleet: F\ncredentials: {c: {user: u, keys: store}}\nkey-store: {file: k}\n",
         "units.yaml": "units: {}\n"}
NOBODYS = "quite-unknown-to-all"


def at(document, pointer):
    for part in filter(None, pointer.split("/")):
        document = document[int(part)] if isinstance(document, list) else document[part]
    return document


def faults_with(files):
    """What `vergeset check` says of a fleet of these files."""
    with tempfile.TemporaryDirectory() as folder:
        for name, text in {**LEAST, **files}.items():
            path = pathlib.Path(folder) / name
            path.parent.mkdir(exist_ok=True)
            path.write_text(text, encoding="utf-8")
        document = json.loads(vergeset("check", "--json", "--fleet", folder).stdout)
        return [fault["text"] for fault in document["faults"]]


class TheSchemas(unittest.TestCase):
    def test_each_validates_against_the_metaschema_of_draft_07(self):
        paths = list(SCHEMAS.rglob("*.json"))
        self.assertGreater(len(paths), 30)
        for path in paths:
            with self.subTest(path.name):
                schema = read_json(path)
                self.assertEqual(schema["$schema"], "http://json-schema.org/draft-07/schema#")
                jsonschema.Draft7Validator.check_schema(schema)

    def test_each_reference_leads_somewhere(self):
        def references(node):
            if isinstance(node, dict):
                if isinstance(node.get("$ref"), str):
                    yield node["$ref"]
                for value in node.values():
                    yield from references(value)
            elif isinstance(node, list):
                for value in node:
                    yield from references(value)

        count = 0
        for path in SCHEMAS.rglob("*.json"):
            for reference in references(read_json(path)):
                with self.subTest(f"{path.name}: {reference}"):
                    file, pointer = reference.split("#")
                    self.assertIsNotNone(at(read_json(path.parent / file if file else path), pointer))
                    count += 1
        self.assertGreater(count, 500)

    def test_no_schema_takes_anything(self):
        ours = Validators()
        for path in SCHEMAS.rglob("*.json"):
            if path.name in ("names.json", "pieces.json"):
                continue
            name = str(path.relative_to(SCHEMAS))
            with self.subTest(name):
                for odd in ({"quite": "unknown"}, 5, "text", ["list"], {"vergeset": 1, "command": "other"}):
                    self.assertNotEqual(ours.faults(name, odd), [])

    def test_every_property_of_a_file_is_described_for_the_editor_to_show(self):
        def described(node, path):
            reference = node.get("$ref")
            if reference is None:
                return "description" in node
            file, pointer = reference.split("#")
            path = path.parent / file if file else path
            return described(at(read_json(path), pointer), path)

        def undescribed(node, path, trail):
            if isinstance(node, list):
                for place, value in enumerate(node):
                    yield from undescribed(value, path, f"{trail}/{place}")
            if not isinstance(node, dict):
                return
            for key, value in node.items():
                if key in ("if", "then", "else", "not"):
                    continue
                inner = f"{trail}/{key}"
                if key == "properties":
                    yield from (f"{inner}/{name}" for name, one in value.items() if not described(one, path))
                yield from undescribed(value, path, inner)

        for path in SCHEMAS.glob("*.json"):
            self.assertEqual(list(undescribed(read_json(path), path, path.name)), [])

class TheirNames(unittest.TestCase):
    def test_names_json_is_what_the_program_writes(self):
        with tempfile.TemporaryDirectory() as folder:
            ran = vergeset("model", "schemas", "--out", folder + "/made", cwd=folder)
            self.assertEqual((ran.returncode, ran.stderr), (0, ""))
            self.assertTrue(all(len(line) <= 80 + len(folder) for line in ran.stdout.splitlines()))
            made = pathlib.Path(folder) / "made"
            ours = {path.name: path.read_text(encoding="utf-8") for path in SCHEMAS.glob("*.json")}
            self.assertEqual({path.name for path in made.iterdir()}, set(ours))
            for name, text in ours.items():
                self.assertEqual((made / name).read_text(encoding="utf-8"), text,
                                 f"{name} is stale: vergeset model schemas --out schemas/json")

    def test_settings_and_tables_are_those_of_the_model_files(self):
        """Judged by the YAML of schemas/ itself, not by the program's reading of it."""
        settings, tables = set(), {}
        models, common = {}, yaml.load((SCHEMAS.parent / "common.yaml").read_text(), Loader=schemas.Core)
        for path in SCHEMAS.parent.glob("*.yaml"):
            model = yaml.load(path.read_text(), Loader=schemas.Core)
            if "model" in model:
                models[model["model"]] = model

        def desired(entry):
            return entry["access"] in ("read-write", "read-create") and not {"action", "running"} & set(
                entry.get("traits", []))

        for model in models.values():
            settings |= {name for name, entry in (model.get("scalars") or {}).items() if desired(entry)}
            for name, table in (model.get("tables") or {}).items():
                tables.setdefault(name, set()).update(table["columns"])
        settings |= set(common["settings"])
        own = {name: set(columns) for name, columns in tables.items()}
        for name, table in common["tables"].items():
            for table_name in table["on"].values():
                tables[table_name] |= set(table["columns"])
                tables.setdefault(name, set(table["columns"])).update(own[table_name])
        known = read_json(SCHEMAS / "names.json")["definitions"]
        self.assertEqual(set(known["settings"]["properties"]), settings)
        self.assertEqual(set(known["tables"]["properties"]), set(tables))
        for name, columns in tables.items():
            row = known["tables"]["properties"][name]["properties"]["rows"]["additionalProperties"]
            self.assertEqual(set(row["properties"]), columns | {"match", "index", "present"}, name)
        self.assertEqual(set(known["model"]["enum"]), set(models) - {"system"})

    def test_rules_limits_and_words_of_a_fleet_are_the_programs(self):
        known = read_json(SCHEMAS / "names.json")["definitions"]
        first = schemas.SOURCE / "inventories/first"
        document = json.loads(vergeset("check", "--rules", "--json", "--fleet", first).stdout)
        self.assertEqual(set(known["severities"]["properties"]), {rule["rule"] for rule in document["rules"]})
        self.assertEqual(set(known["limits"]["properties"]), {limit["limit"] for limit in document["limits"]})

    def test_keys_are_those_that_the_program_names_where_one_is_unknown(self):
        for file, text, schema, pointer in PLACES:
            with self.subTest(f"{file}: {text}"):
                files = {file: text.replace("@", NOBODYS + ": 1")}
                if file == "fleet.yaml":
                    files[file] = files[file] if "credentials" in text else LEAST[file].replace(
                        "key-store: {file: k}\n" if "key-store" in text else "\0", "") + files[file] + "\n"
                told = [re.fullmatch(f'unknown key "{NOBODYS}"; known here: (.*)', fault)
                        for fault in faults_with(files)]
                told = [match for match in told if match]
                self.assertEqual(len(told), 1)
                self.assertEqual(set(at(read_json(SCHEMAS / schema), pointer)["properties"]) - {"from-payload"},
                                 set(told[0].group(1).split(", ")) - {"from-payload"})

    def test_words_are_those_that_the_program_names_where_one_is_unknown(self):
        for file, text, told, schema, pointer in WORDS:
            with self.subTest(f"{file}: {text}"):
                files = {file: text if file != "fleet.yaml" else "fleet: F\n" + text}
                found = [re.search(told, fault) for fault in faults_with(files)]
                found = [match.group(1) for match in found if match]
                self.assertEqual(found[:1] and set(found[0].split(", ")),
                                 set(at(read_json(SCHEMAS / schema), pointer)))

    def test_the_names_of_a_fleets_own_models_are_known_in_its_own_schemas_alone(self):
        own = ("model: larkmoor-mk2\nbased-on: ntcip1218-v01\nroot: 1.3.6.1.4.1.99999.7\n"
               "scalars: {lmLamp: {oid: 1, syntax: 'INTEGER { dark(0), bright(1) }', access: read-write}}\n")
        fleet = LEAST["fleet.yaml"] + "only: {larkmoor-mk2: {settings: {lmLamp: bright}}}\n"
        self.assertEqual(faults_with({"fleet.yaml": fleet, "models/mk2.yaml": own}), [])
        self.assertNotEqual(Validators().faults_of_yaml("fleet.json", fleet), [])
        with tempfile.TemporaryDirectory() as folder:
            (pathlib.Path(folder) / "models").mkdir()
            (pathlib.Path(folder) / "models/mk2.yaml").write_text(own)
            (pathlib.Path(folder) / "fleet.yaml").write_text(fleet)
            ran = vergeset("model", "schemas", "--fleet", folder, "--out", folder + "/.schemas")
            self.assertEqual(ran.returncode, 0, ran.stderr)
            self.assertIn("groups/*.yaml       # yaml-language-server: $schema=../.schemas/group.json\n", ran.stdout)
            made = Validators(folder + "/.schemas")
            self.assertEqual(made.faults_of_yaml("fleet.json", fleet), [])
            self.assertNotEqual(made.faults_of_yaml("fleet.json", fleet.replace("bright", "brihgt")), [])
            again = vergeset("model", "schemas", "--fleet", folder, "--out", folder + "/.schemas")
            self.assertEqual(again.returncode, 0, again.stderr)
            other = vergeset("model", "schemas", "--fleet", folder, "--out", folder)
            self.assertEqual(other.returncode, 2)
            self.assertIn("holds other files", other.stderr)

    def test_schemas_are_written_of_sound_models_alone_and_the_command_line_is_read_with_care(self):
        with tempfile.TemporaryDirectory() as folder:
            path = pathlib.Path(folder)
            (path / "models").mkdir()
            (path / "models/bad.yaml").write_text("model: bad\nroot: 1.3.6.1\n")
            (path / "fleet.yaml").write_text(LEAST["fleet.yaml"])
            (path / "file").write_text("")
            out = path / "out"
            for words, told in ((["--out", out, "--fleet", folder], "models/bad.yaml:1:1: `recognise:` is missing"),
                                (["--out", out, "--fleet", path / "nowhere"], "no fleet.yaml in"),
                                ([], "needs a folder"), (["--out", path / "file"], "is no folder"),
                                (["--out", out, "a-mib.txt"], "takes --fleet and --out alone")):
                with self.subTest(told):
                    ran = vergeset("model", "schemas", *words)
                    self.assertEqual((ran.returncode, ran.stdout), (2, ""))
                    self.assertIn(told, ran.stderr)
            self.assertFalse(out.exists())


if __name__ == "__main__":
    unittest.main()

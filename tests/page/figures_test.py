#!/usr/bin/python3
"""What `vergeset report` writes for other programs, read by the parsers of others.

usage: figures_test.py VERGESET FOLDER

The metrics are read by the OpenMetrics parser of the Prometheus client library (Debian: python3-prometheus-client)
and by its parser of the older text format, which file collectors use; the XML by junitparser (python3-junitparser)
and expat.
"""

import json
import os
import shutil
import subprocess
import sys
import xml.etree.ElementTree

import junitparser
from prometheus_client import parser
from prometheus_client.openmetrics import parser as openmetrics_parser

HERE = os.path.dirname(os.path.abspath(__file__))
NOW = "2026-11-26T06:00:00Z"
failed = []


def check(holds, what):
    if not holds:
        failed.append(what)
        print("FAILED:", what)


def written(vergeset, folder, name, *more):
    fleet = f"{folder}/{name}"
    told = subprocess.run([f"{HERE}/make_records.py", fleet, "400", "30", NOW, *more], check=True, capture_output=True)
    subprocess.run(
        [vergeset, "report", "--fleet", fleet, "--metrics", f"{fleet}.prom", "--junit", f"{fleet}.xml", "--until", NOW],
        check=True, stdout=subprocess.DEVNULL,
    )
    return fleet, json.loads(told.stdout)


def samples(families):
    return {(one.name, tuple(sorted(one.labels.items()))): one.value for family in families for one in family.samples}


def test_metrics(fleet, told, name):
    with open(fleet + ".prom") as given:
        text = given.read()
    families = list(openmetrics_parser.text_string_to_metric_families(text))
    check(all(family.documentation for family in families), "each family has a help text")
    all_samples = samples(families)

    def value(metric, **labels):
        labels["fleet"] = name
        return all_samples.get((metric, tuple(sorted(labels.items()))))

    for outcome in ("agrees", "drifted", "no answer", "wrong unit"):
        number = sum(1 for one in told["state"].values() if one == outcome)
        check(value("vergeset_units", outcome=outcome) == number, f"{number} units: {outcome}")
    drifted = sum(1 for one in told["state"].values() if one == "drifted")
    check(value("vergeset_differences") == drifted, "the differences are counted")
    check(value("vergeset_audit_age_seconds") == 4 * 3600, "the audit of two o'clock is four hours old at six")
    off_air = sum(told["off_air"].values()) / 1000
    check(abs(value("vergeset_off_air_seconds_total") - off_air) < 0.001, f"{off_air} s off air")
    hours = [one for (metric, _), one in all_samples.items() if metric == "vergeset_certificate_hours"]
    check(hours and all(abs(one - 236) < 0.01 for one in hours), f"certificates have 236 hours left: {hours[:2]}")
    older = samples(parser.text_string_to_metric_families(text))
    for (metric, labels), one in all_samples.items():
        check(older.get((metric, labels)) == one, f"{metric} reads the same in the older format")
    mode = os.stat(fleet + ".prom").st_mode & 0o777
    check(mode == 0o644, f"a collector that runs as somebody else may read it: {mode:o}")


def test_junit(fleet, told):
    xml.etree.ElementTree.parse(fleet + ".xml")
    suites = junitparser.JUnitXml.fromfile(fleet + ".xml")
    cases = [case for suite in suites for case in suite]
    check(len(cases) == len(told["state"]), "each unit is a test case")
    for case in cases:
        kinds = [type(one).__name__ for one in case.result]
        expected = {"agrees": [], "drifted": ["Failure"]}.get(told["state"][case.name], ["Error"])
        check(kinds == expected, f"{case.name}, {told['state'][case.name]}: {kinds}")
    suite = next(iter(suites))
    failures = sum(1 for one in told["state"].values() if one == "drifted")
    errors = sum(1 for one in told["state"].values() if one in ("no answer", "wrong unit"))
    check((suite.tests, suite.failures, suite.errors) == (len(cases), failures, errors), "the suite's sums fit")


def main():
    vergeset, folder = sys.argv[1:3]
    shutil.rmtree(folder, ignore_errors=True)
    os.makedirs(folder)
    fleet, told = written(vergeset, folder, "plain")
    test_metrics(fleet, told, "Larkmoor district")
    test_junit(fleet, told)
    fleet, told = written(vergeset, folder, "hostile", "--hostile")
    with open(fleet + "/fleet.yaml") as given:
        name = json.loads(given.readline().split(": ", 1)[1])
    test_metrics(fleet, told, name)
    test_junit(fleet, told)
    sys.exit(1 if failed else 0)


main()

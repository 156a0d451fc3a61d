#!/usr/bin/env python3
"""A bill of materials of the program, CycloneDX 1.5 (ECMA-424), from what Cargo says of its own build.

`.ci/package/bill.py VERSION` prints it. Only what goes into the program is on it: no tools of tests or builds of
other platforms. No time and no random number is in it, so that the same sources give the same bytes.
"""

import json
import subprocess
import sys


def cargo(*arguments):
    """The answer of Cargo, as text."""
    return subprocess.run(["cargo", *arguments], check=True, capture_output=True, text=True).stdout


def checksums():
    """SHA-256 of each package by name and version, from Cargo.lock."""
    found, name, version = {}, None, None
    for line in open("Cargo.lock", encoding="utf-8"):
        key, _, value = line.strip().partition(" = ")
        value = value.strip('"')
        if key == "name":
            name = value
        elif key == "version":
            version = value
        elif key == "checksum":
            found[(name, version)] = value
    return found


def component(package, sums):
    """One package as the standard has it."""
    name, version = package["name"], package["version"]
    entry = {
        "type": "library",
        "bom-ref": f"pkg:cargo/{name}@{version}",
        "name": name,
        "version": version,
        "purl": f"pkg:cargo/{name}@{version}",
    }
    if package.get("license"):
        entry["licenses"] = [{"expression": package["license"].replace("/", " OR ")}]
    if (name, version) in sums:
        entry["hashes"] = [{"alg": "SHA-256", "content": sums[(name, version)]}]
    return entry


def main():
    host = next(
        line.split()[1] for line in subprocess.run(["rustc", "-vV"], check=True, capture_output=True, text=True)
        .stdout.splitlines() if line.startswith("host:")
    )
    told = json.loads(cargo("metadata", "--locked", "--format-version", "1", "--filter-platform", host))
    packages = {package["id"]: package for package in told["packages"]}
    nodes = {node["id"]: node for node in told["resolve"]["nodes"]}
    own = told["resolve"]["root"]

    def goes_in(dependency):
        return any(kind["kind"] is None for kind in dependency["dep_kinds"])

    reached, left = set(), [own]
    while left:
        node = left.pop()
        if node in reached:
            continue
        reached.add(node)
        left.extend(d["pkg"] for d in nodes[node]["deps"] if goes_in(d))
    sums = checksums()
    ref = {node: f"pkg:cargo/{packages[node]['name']}@{packages[node]['version']}" for node in reached}
    bill = {
        "bomFormat": "CycloneDX",
        "specVersion": "1.5",
        "version": 1,
        "metadata": {
            "component": {
                "type": "application",
                "bom-ref": ref[own],
                "name": "oddpot",
                "version": sys.argv[1],
                "licenses": [{"license": {"id": "MIT"}}],
            }
        },
        "components": [component(packages[n], sums) for n in sorted(reached - {own}, key=ref.get)],
        "dependencies": [
            {"ref": ref[n], "dependsOn": sorted(ref[d["pkg"]] for d in nodes[n]["deps"] if goes_in(d))}
            for n in sorted(reached, key=ref.get)
        ],
    }
    json.dump(bill, sys.stdout, indent=1, ensure_ascii=False)
    print()


if __name__ == "__main__":
    main()

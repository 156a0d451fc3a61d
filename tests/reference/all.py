"""Runs every check on one dumped job; `--record` then stores what was confirmed."""
import argparse
import json
import pathlib

import fixtures
import job_check
import reading_check

RECORD = pathlib.Path(__file__).resolve().parent.parent / "fixtures" / "reference-job.json"


def confirmed(dump):
    """What the program's own tests hold on to."""
    return {
        "posterior": [["+".join(h["faults"]), h["posterior"]] for h in dump["hypotheses"][:40]],
        "stop": dump["plan"]["stop"]["total"],
        "values": [[t["id"], t["value"]] for t in dump["plan"]["tests"]],
        "readings": [c["log_density_guarded"] for c in dump["readings"]["cases"]],
    }


def main():
    """Command line."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("dump", type=pathlib.Path, help="what `oddpot dump JOB` said")
    parser.add_argument("--record", action="store_true", help="store what was confirmed")
    args = parser.parse_args()
    dump = json.loads(args.dump.read_text())
    all_checks = [fixtures.run(), reading_check.run(dump), job_check.run(dump)]
    for checks in all_checks:
        checks.report()
    passed, failed = (sum(getattr(c, f) for c in all_checks) for f in ("passed", "failed"))
    if args.record and not failed:
        RECORD.write_text(json.dumps(confirmed(dump), indent=1) + "\n")
        print(f"stored {RECORD.name}")
    print(f"{passed} passed, {failed} failed")
    raise SystemExit(1 if failed else 0)


main()

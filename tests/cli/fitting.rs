//! `oddpot fit`: the probe-fit sheet, and what it does to the answer.

use crate::bench::Bench;

/// A five, read hot at cylinder 4; nothing of it is measured data.
fn bench() -> Bench {
    let bench = Bench::new();
    let open = "open five --cylinders 5 --fuel diesel --recent probes-new --state warm";
    bench.run(open).succeeds();
    bench.run("temps five --at idle 241 238 243 301 240").succeeds();
    bench
}

fn probability(bench: &Bench, id: &str, cylinder: u64) -> f64 {
    bench.probability("five", id, cylinder)
}

#[test]
fn a_measured_depth_convicts_and_an_equal_one_acquits() {
    let bench = bench();
    let before = probability(&bench, "fit-deep", 4);
    bench.run("fit five --depths 14 14 14,5 20 14").gives(
        0,
        "entry 2: depths past the inner wall: 14, 14, 14.5, 20, 14 mm\n",
        "note: the probe of cylinder 4 sits 6.0 mm deeper than the others: `oddpot fit five` shows what \
         that is worth\n",
    );
    let convicted = probability(&bench, "fit-deep", 4);
    assert!(convicted > 0.95 && before < 0.8, "{before} then {convicted}");
    let next = bench.run("next five --json").document(0);
    assert_eq!((&next["kind"], &next["id"]), (&"remedy".into(), &"fit-deep".into()));
    bench.run("undo five").succeeds();
    bench.run("fit five --stems 36 36 36 36 36").succeeds();
    let acquitted = probability(&bench, "fit-deep", 4);
    assert!(acquitted < 0.5 * before, "{before} then {acquitted}");
}

#[test]
fn a_depth_seen_and_set_right_is_proof() {
    let bench = bench();
    bench.run("fit five --depths 14 14 14 20 14").succeeds();
    bench.run("remedy five fit-deep@4").succeeds();
    bench.run("temps five --at idle 241 239 242 244 240").succeeds();
    let verified = bench.run("verify five --json").document(0);
    assert_eq!((&verified["verified"], &verified["proof"]), (&true.into(), &"seen".into()));
    let card = bench.run("card five");
    assert!(card.out.contains("Probe-fit sheet"), "{}", card.out);
    assert!(card.out.contains("sits 6.0 mm deeper than the others"), "{}", card.out);
}

#[test]
fn the_sheet_shows_what_is_known_and_what_is_to_do() {
    let bench = bench();
    bench.run("fit five --probe-diameter 3 --bore 38 --probe-depth 15").gives(
        0,
        "entry 2: sheath 3 mm, runner 38 mm, tip 15 mm past the inner wall\n",
        "",
    );
    bench.run_args(&["fit", "five", "--cylinder", "2", "--stem", "36", "--serial", "A 12"]).gives(
        0,
        "entry 3: the probe of cylinder 2 was described\n",
        "",
    );
    let sheet = bench.run("fit five");
    sheet.succeeds();
    assert_eq!(sheet.err, "");
    insta::assert_snapshot!(sheet.out, @"
    Probe-fit sheet
    ===============
    Probes: type K, in the exhaust runners, depth set in a sliding gland
    Sit:    sheath 3 mm, runner 38 mm, tip 15 mm past the inner wall

    cylinder  stem out mm  serial
    --------  -----------  ------
           2           36  A 12

    A millimetre of depth is worth about 8 °C at warm idle, 7 °C at steady cruise
    and 5 °C at full load, by the heat that runs off along the stem; sizes are
    typical, signs are sure.

    Before the first start
      check                                                   state
      ------------------------------------------------------  -----------
      Depth measured and stem marked, every probe alike       1 of 5 done
      Cold soak: all displays alike with the key on           to do
      Each display shown to be its cylinder's, one at a time  to do

      Caution: Set depths on a cold engine: a runner burns skin long after the stop.
    ");
    let document = bench.run("fit five --json").document(0);
    assert_eq!(document["fitting"]["assumed"], false);
    assert_eq!(document["lines"][0]["line"]["serial"], "A 12");
    let journal = bench.run("journal five --json").document(0);
    assert_eq!(journal["entries"][2]["typed"], "fit --cylinder 2 --stem 36 --serial 'A 12'");
}

#[test]
fn what_no_probe_can_be_is_refused_and_nothing_kept() {
    let bench = bench();
    let cases = [
        ("fit five --depths 14 14 14", "3 figures given, this engine has 5 cylinders"),
        ("fit five --depths 14 14 14 900 14", "expected 0 to 300 mm"),
        ("fit five --cylinder 9 --depth 14", "cylinder 9 does not exist"),
        ("fit five --cylinder 4", "nothing is said of the probe of cylinder 4"),
        ("fit five --cylinder 4 --clock 13", "expected 1 to 12"),
        ("fit five --depths 14 deep 14 14 14", "expected millimetres"),
        ("fit five --probe-diameter 3", "--bore"),
        ("fit five --probe-diameter 3 --bore 42 --probe-depth 60", "measure from the inner wall"),
    ];
    for (line, message) in cases {
        let run = bench.run(line);
        assert_eq!((run.status, run.out.as_str()), (2, ""), "{line}");
        assert!(run.err.contains(message), "{line}: {}", run.err);
    }
    let journal = bench.run("journal five --json").document(0);
    assert_eq!(journal["entries"].as_array().map(Vec::len), Some(1));
}

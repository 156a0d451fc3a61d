//! How the finding of each mistake is drawn.

use super::load;
use super::mistakes::all_cases;
use crate::knowledge::finding::{any_error, render};

#[test]
#[expect(clippy::too_many_lines, reason = "one drawing a code")]
fn each_mistake_is_found_and_drawn() {
    let mut drawn = String::new();
    for (code, files) in all_cases() {
        let (knowledge, findings) = load(&files, &[]);
        assert!(findings.iter().any(|f| f.code == code.name), "{}: {findings:?}", code.name);
        assert_eq!(knowledge.is_none(), any_error(&findings), "{}", code.name);
        drawn += &render(&findings, &files, false);
        drawn += "\n";
    }
    insta::assert_snapshot!(drawn, @r#"
    warning[ambiguous-causes]: nothing tells causes `fit-bent`, `fit-deep` apart
      --> causes/chain.ron:4:17
       |
     4 |             id: "fit-bent", name: "bent probe", what: "It is bent inwards.",
       |                 ^^^^^^^^^^
    ...
    17 |             id: "fit-deep", name: "probe too deep", what: "The tip is too far in.",
       |                 ----------
       |
       = help: add a test that tells them apart, or make them one cause

    error[bad-chance]: the re-seat chance is 1.03, outside 0 to 1
      --> causes/chain.ron:81:21
       |
    81 |             reseat: 1.03,
       |                     ^^^^

    error[bad-curve]: ratio 0.8 does not rise
      --> model.ron:37:38
       |
    37 |     mixture: [(0.8, 365, 557, 798), (0.8, 400, 620, 920), (1.2, 375, 577, 843)],
       |                                      ^^^
       |
       = help: put the points in order of their ratios

    error[bad-engine]: preset `inline-four-port` is no engine: the firing order must name each of the 4 cylinders once
      --> engines.ron:5:21
       |
     5 |               engine: (
       |  _____________________^
     6 | |                 cylinders: 4, layout: "inline", banks: [[1, 2, 3, 4]], firing_order: [1, 3, 3, 2],
     7 | |                 fuel: "port", ignition: "wasted-spark", intake: "plenum", induction: "natural",
     8 | |                 cooling: "liquid", probes: "exhaust", probe_type: "K", depth: "stays",
     9 | |                 trims: false, mixture: (idle: 1, cruise: 1, full: 1.15),
    10 | |             ),
       | |_____________^

    error[bad-id]: `New probe` cannot be the id of a test
      --> tests/chain.ron:40:17
       |
    40 |             id: "New probe", name: "Fit a good probe", kind: "substitute",
       |                 ^^^^^^^^^^^
       |
       = help: use small letters, digits and hyphens, a letter first, as `fit-deep`

    error[bad-outcomes]: a test of kind `reseat` has outcomes `gone`, `stays`, `other`
      --> tests/chain.ron:36:23
       |
    36 |             outcomes: [("gone", "Gone."), ("kept", "Stays."), ("other", "Other.")],
       |                       ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ `gone`, `kept`, `other` here
       |
       = help: its chances follow from the seats, for these outcomes only

    error[bad-physics]: `physics` has an sd below zero
      --> causes/chain.ron:78:54
       |
    78 |                 (share: 0.5, law: "offset", physics: stray(-1), exhaust: ((-9, 5), (-9, 5), (-9, 5), (-9, 5)), basis: practice),
       |                                                      ^^^^^^^^^

    error[bad-point]: running point `full` has no name
      --> points.ron:48:19
       |
    48 |             name: " ",
       |                   ^^^
       |
       = help: say it as to a reader, as `towing uphill`

    error[bad-seats]: test `new-probe` of kind `substitute` replaces nothing
      --> tests/chain.ron:40:17
       |
    40 |             id: "new-probe", name: "Fit a good probe", kind: "substitute",
       |                 ^^^^^^^^^^^

    warning[cause-unreachable]: no evidence can find cause `not-settled`
      --> causes/chain.ron:94:17
       |
    94 |             id: "not-settled", name: "not settled", what: "Still warming.",
       |                 ^^^^^^^^^^^^^ no test speaks to it and it has no effect
       |
       = help: give it `effects`, or a row in a test

    error[constant-length]: constant `reference_rise` has 2 values, 3 wanted
      --> model.ron:23:28
       |
    23 |         ("reference_rise", [375, 595], practice),
       |                            ^^^^^^^^^^

    error[duplicate-field]: field `tools` is written twice
     --> tests/chain.ron:5:76
      |
    5 |             states: ["cool", "hot"], access: ["probe-out"], tools: "rule", tools: "eye", time: (2, 0),
      |                                                                            ^^^^^ second time
      |
      = help: keep one of the two

    error[unknown-id]: unknown group `lead`
      --> causes/chain.ron:48:20
       |
    48 |             group: "lead", seat: "lead", weight: 35,
       |                    ^^^^^^ not defined

    error[unknown-id]: unknown group `lead`
      --> causes/chain.ron:63:20
       |
    63 |             group: "lead", seat: "lead", place: "pair", weight: 12,
       |                    ^^^^^^ not defined

    error[duplicate-id]: group `fit` is defined twice
     --> groups.ron:6:10
      |
    5 |         ("fit", "fit", "measuring"),
      |          ----- first here
    6 |         ("fit", "lead", "measuring"),
      |          ^^^^^ again here
      |
      = help: rename one, or delete it; to replace a built-in row, use an overlay folder

    warning[engine-basis]: engine `inline-four-port` does not say where its figures come from
      --> engines.ron:5:21
       |
     5 |               engine: (
       |  _____________________^
     6 | |                 cylinders: 4, layout: "inline", banks: [[1, 2, 3, 4]], firing_order: [1, 3, 4, 2],
     7 | |                 fuel: "port", ignition: "wasted-spark", intake: "plenum", induction: "natural",
     8 | |                 cooling: "liquid", probes: "exhaust", probe_type: "K", depth: "stays",
     9 | |                 trims: false, mixture: (idle: 1, cruise: 1, full: 1.15),
    10 | |             ),
       | |_____________^
       |
       = help: give it a `basis`

    error[file-missing]: the knowledge base has no `cautions.ron`

    error[given-twice]: cause `fit-shallow` already has a row of its own
      --> tests/chain.ron:11:19
       |
    10 |                 (["fit-shallow", "fit-deep"], [0.3, 0.6, 0.1]),
       |                  --------------------------- first here
    11 |                 (["fit-shallow"], [0.2, 0.05, 0.75]),
       |                   ^^^^^^^^^^^^^ again here
       |
       = help: keep one; a cause named on its own overrides a set

    error[group-cycle]: groups `no-fault` hang under each other in a ring
     --> groups.ron:8:34
      |
    8 |         ("no-fault", "no fault", "no-fault"),
      |                                  ^^^^^^^^^^
      |
      = help: give one of them `None` or a parent outside the ring

    warning[group-empty]: group `spare` has no cause
     --> groups.ron:8:10
      |
    8 |         ("spare", "spare", "fit"), ("no-fault", "no fault", None),
      |          ^^^^^^^
      |
      = help: put a cause in it or delete it

    warning[readings-only]: no test shows cause `chan-error` on engine `inline-four-port`
      --> causes/chain.ron:75:17
       |
    75 |             id: "chan-error", name: "channel off", what: "The input amplifier is out.",
       |                 ^^^^^^^^^^^^ only readings speak of it
       |
       = help: give it a row in a test that can be done there, or add such a test

    error[group-unreachable]: group `measuring` hangs under a ring of groups
     --> groups.ron:3:38
      |
    3 |         ("measuring", "sensor side", "ring"), ("ring", "ring", "ring"),
      |                                      ^^^^^^

    error[group-cycle]: groups `ring` hang under each other in a ring
     --> groups.ron:3:64
      |
    3 |         ("measuring", "sensor side", "ring"), ("ring", "ring", "ring"),
      |                                                                ^^^^^^
      |
      = help: give one of them `None` or a parent outside the ring

    error[group-unreachable]: group `probe` hangs under a ring of groups
     --> groups.ron:4:28
      |
    4 |         ("probe", "probe", "measuring"),
      |                            ^^^^^^^^^^^

    error[group-unreachable]: group `fit` hangs under a ring of groups
     --> groups.ron:5:24
      |
    5 |         ("fit", "fit", "measuring"),
      |                        ^^^^^^^^^^^

    error[group-unreachable]: group `lead` hangs under a ring of groups
     --> groups.ron:6:26
      |
    6 |         ("lead", "lead", "measuring"),
      |                          ^^^^^^^^^^^

    error[group-unreachable]: group `channel` hangs under a ring of groups
     --> groups.ron:7:32
      |
    7 |         ("channel", "channel", "measuring"),
      |                                ^^^^^^^^^^^

    warning[hazard-unwarned]: test `look-fit` has hazard `heat` and no caution against it
     --> tests/chain.ron:4:17
      |
    4 |             id: "look-fit", name: "Look at the depth marks", kind: "observe",
      |                 ^^^^^^^^^^ it says so itself
      |
      = help: add one of `hot` to its `cautions`

    error[missing-basis]: 3 values wanted in these brackets, 2 given
      --> setups.ron:18:34
       |
    18 |     parts: [("none", 0, memory), ("probe", 45)],
       |                                  ^^^^^^^^^^^^^
       |
       = help: write `source("id")`, `computed("how")`, `practice` (common practice, no source) or `memory`

    error[missing-constant]: constant `proof` is not given
      --> model.ron:36:5
       |
    36 |     ],
       |     ^ missing here
       |
       = help: add ("proof", [...], basis) to `model.ron`

    error[missing-field]: field `name` is missing
      --> setups.ron:16:9
       |
    16 |         (id: "probe-out", time: (5, 0), per_cylinder: true, blocks_running: true, basis: practice),
       |         ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ has no `name`
       |
       = help: add `name: ...`

    error[missing-remedy]: cause `not-settled` is a fault but has no remedy
      --> causes/chain.ron:94:17
       |
    94 |             id: "not-settled", name: "not settled", what: "Still warming.",
       |                 ^^^^^^^^^^^^^
       |
       = help: add `remedy: (...)`, or seat `none` if nothing is wrong

    error[negative]: the waiting time is -5, below zero
      --> tests/chain.ron:34:59
       |
    34 |             states: ["cool"], tools: "spanner", time: (7, -5), parts: "none",
       |                                                           ^^

    error[newer-format]: it has format 2, this program knows formats up to 1
     --> groups.ron:2:5
      |
    2 |     format: 2, groups: [
      |     ^^^^^^
      |
      = help: use the newer oddpot that it was written for

    error[not-finite]: the sd of the shift at idle is `inf`, not a finite number
      --> causes/chain.ron:36:61
       |
    36 |                 law: "proportional", exhaust: ((0, 1), (-4, 1e999), (-7, 9), (-10, 13)),
       |                                                             ^^^^^
       |
       = help: numbers too large to hold are read as infinite

    error[point-cycle]: running points `towing`, `uphill` are like each other in a ring
      --> points.ron:11:74
       |
    11 |         (id: "towing", name: "towing", thermal: "full", order: 50, like: "uphill"),
       |                                                                          ^^^^^^^^
    12 |         (id: "uphill", name: "uphill", thermal: "full", order: 60, like: "towing"),
       |                                                                          --------
       |
       = help: make one of them like `idle`, `cruise` or `full`

    warning[readings-only]: no test shows cause `chan-error` on engine `inline-four-port`
      --> causes/chain.ron:75:17
       |
    75 |             id: "chan-error", name: "channel off", what: "The input amplifier is out.",
       |                 ^^^^^^^^^^^^ only readings speak of it
       |
       = help: give it a row in a test that can be done there, or add such a test

    warning[retired-constant]: `t_freedom` is no longer used
      --> model.ron:35:10
       |
    35 |         ("t_freedom", [4], practice), ("proof", [0.95], practice),
       |          ^^^^^^^^^^^ has no effect
       |
       = help: see `spread_scale`, `noise_scale`, `wide_chance`

    error[row-length]: this row has 2 chances for 3 outcomes
      --> tests/chain.ron:10:31
       |
    10 |                 (["set:fit"], [0.3, 0.7]),
       |                               ^^^^^^^^^^
       |
       = help: give one chance for each outcome, in their order

    error[row-sum]: the chances of this row sum to 0.900, not to 1
      --> tests/chain.ron:11:35
       |
    11 |                 (["fit-shallow"], [0.2, 0.05, 0.65]),
       |                                   ^^^^^^^^^^^^^^^^^

    note[same-remedy-causes]: nothing tells causes `fit-bent`, `fit-deep` apart
      --> causes/chain.ron:4:17
       |
     4 |             id: "fit-bent", name: "bent probe", what: "It is bent inwards.",
       |                 ^^^^^^^^^^
    ...
    17 |             id: "fit-deep", name: "probe too deep", what: "The tip is too far in.",
       |                 ----------
       |
       = help: they may be one cause

    error[share-sum]: the shares of the sides of `chan-error` sum to 1.500, not to 1
      --> causes/chain.ron:77:22
       |
    77 |               effects: [
       |  ______________________^
    78 | |                 (law: "offset", exhaust: ((-9, 5), (-9, 5), (-9, 5), (-9, 5)), basis: practice),
    79 | |                 (share: 0.5, law: "offset", exhaust: ((9, 5), (9, 5), (9, 5), (9, 5)), basis: practice),
    80 | |             ],
       | |_____________^
       |
       = help: a side without `share` counts as 1

    warning[spread-gap]: no natural spread of probe site `head` holds for every engine
     --> spreads.ron:6:5
      |
    6 |     ],
      |     ^ missing here
      |
      = help: end `spreads.ron` with a row for the site that has no `applies`

    error[state-unreachable]: no change leads to state `full` from cold-soaked, cold, cool, hot, idle, cruise
      --> setups.ron:14:5
       |
    14 |     ],
       |     ^ missing here
       |
       = help: add (from, to, hands-on, waiting, basis) to `changes` in `setups.ron`

    error[syntax]: a comma is missing before this
     --> tests/chain.ron:5:75
      |
    5 |             states: ["cool", "hot"], access: ["probe-out"], tools: "rule" time: (2, 0),
      |                                                                           ^^^^

    warning[test-tells-nothing]: test `look-fit` tells nothing
     --> tests/chain.ron:4:17
      |
    4 |             id: "look-fit", name: "Look at the depth marks", kind: "observe",
      |                 ^^^^^^^^^^ every cause gives it the same chances
      |
      = help: add a row to `given` for a cause it speaks to

    error[unknown-constant]: the model has no constant `proofs`
      --> model.ron:35:10
       |
    35 |         ("proofs", [1], practice), ("proof", [0.95], practice),
       |          ^^^^^^^^ used nowhere
       |
       = help: did you mean `proof`?

    error[unknown-field]: unknown field `intermitent`
      --> causes/chain.ron:54:26
       |
    54 |             reseat: 0.7, intermitent: true,
       |                          ^^^^^^^^^^^ no such field here
       |
       = help: did you mean `intermittent`?

    error[unknown-file]: `source.ron` is no file of a knowledge base
     --> source.ron:1:1
      |
    1 | ()
      | ^
      |
      = help: did you mean `sources.ron`?

    error[unknown-flag]: unknown flag `probe-new`
     --> causes/chain.ron:5:62
      |
    5 |             group: "fit", seat: "fit", weight: 25, recent: [("probe-new", 3)],
      |                                                              ^^^^^^^^^^^ not defined
      |
      = help: did you mean `probes-new`?

    error[unknown-id]: unknown test `look-fits`
      --> causes/chain.ron:13:66
       |
    13 |                 states: ["cool"], access: ["probe-out"], first: ["look-fits"],
       |                                                                  ^^^^^^^^^^^ not defined
       |
       = help: did you mean `look-fit`?

    error[unknown-source]: unknown source `handbok`
      --> causes/chain.ron:37:39
       |
    37 |                 head: (-3, 4), basis: source("handbok"),
       |                                       ^^^^^^^^^^^^^^^^^ not defined
       |
       = help: did you mean `handbook`?

    error[unknown-word]: unknown seat `chanel`
      --> causes/chain.ron:76:37
       |
    76 |             group: "channel", seat: "chanel", weight: 8, weight_if: [((trims: true), 1.5)],
       |                                     ^^^^^^^^ not allowed here
       |
       = help: did you mean `channel`?

    note[unused]: nothing uses caution `cold`
     --> cautions.ron:1:14
      |
    1 | (cautions: [("cold", "It chills.", practice), ("hot", "It burns.", practice)])
      |              ^^^^^^
      |
      = help: use it or delete it

    warning[unused-source]: nothing uses source `leaflet`
     --> sources.ron:1:13
      |
    1 | (sources: [("leaflet", "A leaflet; seen."), ("handbook", "A handbook; seen.")])
      |             ^^^^^^^^^
      |
      = help: cite it where a number is from it, or delete it

    error[weight-not-positive]: the weight is 0, but a cause that never occurs cannot be found
      --> causes/chain.ron:34:52
       |
    34 |             group: "probe", seat: "probe", weight: 0,
       |                                                    ^
       |
       = help: give a weight above 0; `applies` says on which engines a cause exists

    error[wrong-type]: a number wanted, `"ten"` found
     --> spreads.ron:5:32
      |
    5 |         (site: "head", sd: (1, "ten", 5, 5, 8), basis: practice),
      |                                ^^^^^
    "#);
}

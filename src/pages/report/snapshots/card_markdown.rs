//! The card and the handover sheet as Markdown.

use insta::assert_snapshot;

use super::{closed_card, open_card};
use crate::report::markdown;
use measure::units::Scale;

#[test]
fn job_card_as_markdown() {
    assert_snapshot!(markdown::render(&closed_card()), @r#"
    # Job card: invented \*hill-climb\* car \| &lt;b&gt;no. 7&lt;/b&gt;

    - **Vehicle:** invented \*hill-climb\* car \| &lt;b&gt;no. 7&lt;/b&gt;
    - **Date:** opened 2026-05-04, closed 2026-05-04
    - **Complaint:** pot 3 reads high since the \`new\` probes

    - **What was wrong:** Probe pushed in further than the others, cylinder 3. Probe pushed in further than the others, as it happens. The number was wrong, not the engine.
    - **What was done:** At cylinder 3, set the probe to its mark. Parts that were exchanged for the checks are back in their places.
    - **How it was proven:** At warm idle display 3 stood 54 °C above the others before the work. Everything that was read and looked at points to what was put right, and it has stayed away since.
    - **Time and parts:** 1 h 12 hands-on, 45 min waiting, parts 4

    **Temperatures at warm idle**

    ```
    °C; # read, entry 1; [..] healthy ones keep in here
                                                                            read
    1   |   [.........................#.........................]     |      402
    2   |   [.......................#...........................]     |      398
    3   |   [...................................................] #   | high 455
    4   |   [.........................#.........................]     |      401
               360        380       400        420       440
    ```

    - Mechanic .................................... date ................
    - Checked by .................................... date ................
    - Customer .................................... date ................

    ## For the next mechanic

    - **Engine:** Invented four: 4 cylinders in line, port injection, a coil for each plug, plenum, liquid cooled, firing order 1-3-4-2
    - **Probes:** type K, in the exhaust runners, depth set in a sliding gland
    - **Recent work:** Were probes or bosses just fitted?
    - **Status:** closed, proven

    ### Cause

    - Probe pushed in further than the others, cylinder 3: almost certain, 97 %

    ### Put right

    - Probe pushed in further than the others, cylinder 3: set the probe to its mark.

    - **Readings after:** taken with the engine running
    - **Fault gone:** almost certain, 98 %
    - **Remaining difference:** within normal (at most 0.4 × the usual scatter)
    - **Proof:** sure enough, and still gone at the run that verifies

    ### Tests and what they showed

    - Exchanged probes 2 and 3 (entry 2).
    - Put back probes 2 and 3 (entry 7).

    ### Where everything is

    **The engine from above**

    ```
    steady cruise, °C, entry 9
    (1)  640  fires 1st
    (2)  636  fires 4th
    (3)  641  fires 2nd
    (4)  640  fires 3rd
    Read before the last work was done.
    Everything is where it was when the job was opened.
    ```

    ### What to watch

    > **Caution:** The exhaust burns skin long after it stopped glowing.

    ### Other readings and exchanges

    **Temperatures at steady cruise**

    ```
    °C; o before, entry 4, # after, entry 9; [..] healthy ones keep in here
                                                                    before after
    1   |   [........................#........................]   |   open   640
    2   |   [......................#..........................]   |    636   636
    3   |   [.........................#..................o....]   |    679   641
    4   |   [........................#........................]   |    640   640
                600       620       640       660       680
    ```

    ## The record

    ### Readings before the remedy, °C

    | no | at | 1 | 2 | 3 | 4 |
    | ---: | --- | ---: | ---: | ---: | ---: |
    | 1 | warm idle | 402 | 398 | 455 | 401 |
    |  | difference | +1 | -4 | +54 | 0 |
    |  | × usual | +0.1 | -0.3 | +3.2 | 0.0 |
    | 4 | steady cruise | open | 636 | 679 | 640 |
    |  | difference |  | -24 | +41 | -18 |
    |  | × usual |  | -0.9 | +1.9 | -0.8 |

    ### Readings after the remedy, °C

    | no | at | 1 | 2 | 3 | 4 |
    | ---: | --- | ---: | ---: | ---: | ---: |
    | 9 | steady cruise | 640 | 636 | 641 | 640 |

    Difference: from the middle of the others. × usual: how many times the usual scatter of healthy cylinders that is.

    ### Entries, with their times as estimated

    | no | time, UTC | what | hands-on | waiting |
    | ---: | --- | --- | ---: | ---: |
    | 1 | 2026-05-04 08:37 | Readings at warm idle: 402, 398, 455, 401 °C | 5 min | 8 min |
    | 2 | 2026-05-04 08:44 | Exchanged probes 2 and 3 | 33 min | 45 min |
    | 3 | 2026-05-04 08:51 | Engine is warm |  |  |
    | 4 | 2026-05-04 08:58 | Readings at steady cruise: open, 636, 679, 640 °C | 5 min | 8 min |
    | 7 | 2026-05-04 08:37 | Put back probes 2 and 3 | 33 min | 45 min |
    | 8 | 2026-05-04 08:37 | Remedied: probe pushed in further than the others, cylinder 3 | 5 min |  |
    | 9 | 2026-05-04 08:37 | Readings at steady cruise: 640, 636, 641, 640 °C | 5 min | 8 min |
    | 10 | 2026-05-04 08:37 | Closed, verified and proven |  |  |
    "#);
}

#[test]
fn handover_sheet_as_markdown() {
    assert_snapshot!(markdown::render(&open_card(Scale::Fahrenheit)), @r#"
    # Handover sheet: invented \*hill-climb\* car \| &lt;b&gt;no. 7&lt;/b&gt;

    - **Vehicle:** invented \*hill-climb\* car \| &lt;b&gt;no. 7&lt;/b&gt;
    - **Date:** opened 2026-05-04, last entry 2026-05-04
    - **Complaint:** pot 3 reads high since the \`new\` probes

    - **So far:** Very likely the number is wrong, not the engine: sensor side (probe, wiring, gauge) 87 %, engine 8 %, nothing wrong 5 %. Display 3 is the odd one.
    - **To do next:** Look at the depth marks on cylinder 3.
    - **Why:** It separates the leading suspect from all others for the least time.
    - **Takes:** 6 min hands-on, 20 min waiting, no parts
    - **Tools:** torch, steel rule
    - **Set-up:** Engine to be stopped and cool enough to handle (20 min waiting). Heat shield off (8 min to open and close).
    - **Checked:** All displays at warm idle and steady cruise.
    - **Left as:** Running at steady cruise. Nothing is open. Running at load was not confirmed to be safe.
    - **Time and parts:** 31 min hands-on, 45 min waiting, parts 4

    **Temperatures at warm idle**

    ```
    °F; # read, entry 1; [..] healthy ones keep in here
                                                                            read
    1   |   [.........................#.........................]     |      756
    2   |   [.......................#...........................]     |      748
    3   |   [...................................................] #   | high 851
    4   |   [.........................#.........................]     |      754
                     700            750           800            850
    ```

    - Handed over by .................................... date ................
    - Taken over by .................................... date ................

    ## For the next mechanic

    - **Engine:** Invented four: 4 cylinders in line, port injection, a coil for each plug, plenum, liquid cooled, firing order 1-3-4-2
    - **Probes:** type K, in the exhaust runners, depth set in a sliding gland
    - **Recent work:** Were probes or bosses just fitted?
    - **Status:** open

    ### Leading causes

    - Probe pushed in further than the others, cylinder 3: probably, 74 %
    - Channel of the box reads wrong, display 3: unlikely, 9 %
    - Injector delivers too little, cylinder 3: unlikely, 6 %
    - Probe has drifted, cylinder 3 (now at cylinder 2): very unlikely, 4 %
    - This is how the engine is: unlikely, 5 %

    ### Tests and what they showed

    - Exchanged probes 2 and 3 (entry 2).

    ### Where everything is

    **The engine from above**

    ```
    steady cruise, °F, entry 4
    (1)  open  fires 1st
    (2)  1177  fires 4th  has probe 3
    (3)  1254  fires 2nd  has probe 2
    (4)  1184  fires 3rd
    ```

    To bring everything home:

    1. Exchange the probes now at cylinders 2 and 3.

    ### What to watch

    - Parts are not in their own places: read display and cylinder by the picture.

    > **Caution:** The exhaust burns skin long after it stopped glowing.

    > **Rule:** No engine part is touched while the sensor side holds 87 %.

    **The plan**

    ```
    [Look at the depth marks on cylinder 3] (6 min hands-on, 20 min waiting, no
    parts)
    +- if less stem outside than on the others (56 %)
    |  then leads: probe pushed in further than the others, cylinder 3
    |  [At cylinder 3, set the probe to its mark]
    +- if all alike within 2 mm (40 %)
    |  then leads: probe pushed in further than the others, cylinder 3
    |  [Exchange probes 3 and 2]
    +- if more stem outside (4 %)
       then leads: probe pushed in further than the others, cylinder 3
       [Exchange probes 3 and 2]
    ```

    ### Other readings and exchanges

    **Temperatures at steady cruise**

    ```
    °F; # read, entry 4; [..] healthy ones keep in here
                                                                            read
    1   |   [.........................................................]   | open
    2   |   [..........................#..............................]   | 1177
    3   |   [...................................................#.....]   | 1254
    4   |   [............................#............................]   | 1184
            1100            1150            1200            1250
    ```

    ## The record

    ### Readings, °F

    | no | at | 1 | 2 | 3 | 4 |
    | ---: | --- | ---: | ---: | ---: | ---: |
    | 1 | warm idle | 756 | 748 | 851 | 754 |
    |  | difference | +2 | -7 | +97 | 0 |
    |  | × usual | +0.1 | -0.3 | +3.2 | 0.0 |
    | 4 | steady cruise | open | 1177 | 1254 | 1184 |
    |  | difference |  | -42 | +74 | -32 |
    |  | × usual |  | -0.9 | +1.9 | -0.8 |

    Difference: from the middle of the others. × usual: how many times the usual scatter of healthy cylinders that is.

    ### Entries, with their times as estimated

    | no | time, UTC | what | hands-on | waiting |
    | ---: | --- | --- | ---: | ---: |
    | 1 | 2026-05-04 08:37 | Readings at warm idle: 756, 748, 851, 754 °F | 5 min | 8 min |
    | 2 | 2026-05-04 08:44 | Exchanged probes 2 and 3 | 33 min | 45 min |
    | 3 | 2026-05-04 08:51 | Engine is warm |  |  |
    | 4 | 2026-05-04 08:58 | Readings at steady cruise: open, 1177, 1254, 1184 °F | 5 min | 8 min |
    "#);
}

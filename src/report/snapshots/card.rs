//! The job card and the handover sheet.

use crate::report::markdown;
use crate::units::Scale;
use insta::assert_snapshot;

use super::{closed_card, narrow, open_card, plain};

#[test]
fn handover_sheet() {
    assert_snapshot!(plain(&open_card(Scale::Celsius)), @r#"
    Handover sheet
    ==============
    Vehicle:        invented *hill-climb* car | <b>no. 7</b>
    Complaint:      pot 3 reads high since the `new` probes
    Engine:         Invented four: 4 cylinders in line, port injection, a coil for
                    each plug, plenum, liquid cooled, firing order 1-3-4-2
    Probes:         type K, in the exhaust runners, depth set in a sliding gland
    Recent work:    Were probes or bosses just fitted?
    Opened:         2026-05-04 08:30 UTC
    Status:         open
    Time and parts: 31 min hands-on, 45 min waiting, parts 4
    Verdict:        Very likely the number is wrong, not the engine: sensor side
                    (probe, wiring, gauge) 87 %, engine 8 %, nothing wrong 5 %.
                    Display 3 is the odd one.

    State of the engine
      Engine: running at steady cruise
      Open:   nothing
      Load:   running at load was not confirmed to be safe

    To do next
      Look at the depth marks on cylinder 3.
      Why:    It separates the leading suspect from all others for the least time.
      Takes:  6 min hands-on, 20 min waiting, no parts
      Tools:  torch, steel rule
      Set-up: Engine to be stopped and cool enough to handle (20 min waiting). Heat
              shield off (8 min to open and close).

    At a glance
      Temperatures at warm idle
      °C; # read, entry 1; [..] healthy ones keep in here
                                                                                read
      1   |   [..........................#..........................]     |      402
      2   |   [........................#............................]     |      398
      3   |   [.....................................................] #   | high 455
      4   |   [..........................#..........................]     |      401
                 360        380        400        420        440

      Temperatures at steady cruise
      °C; # read, entry 4; [..] healthy ones keep in here
                                                                                read
      1   |   [...........................................................]   | open
      2   |   [...........................#...............................]   |  636
      3   |   [....................................................#......]   |  679
      4   |   [.............................#.............................]   |  640
                   600         620         640         660         680

      The plan
      [Look at the depth marks on cylinder 3] (6 min hands-on, 20 min waiting, no
      parts)
      +- if less stem outside than on the others (56 %)
      |  then leads: Probe pushed in further than the others, cylinder 3, 98 %
      |  [Set the probe to its mark, cylinder 3]
      +- if all alike within 2 mm (40 %)
      |  then leads: Probe pushed in further than the others, cylinder 3, 46 %
      |  [Exchange probes 3 and 2]
      +- if more stem outside (4 %)
         then leads: Probe pushed in further than the others, cylinder 3, 41 %
         [Exchange probes 3 and 2]

    Parts moved
      - Probe 3 is now at cylinder 2.
      - Probe 2 is now at cylinder 3.

      To put everything back:
      1. Exchange the probes now at cylinders 2 and 3.

    Cautions
      Caution: The exhaust burns skin long after it stopped glowing.
      Rule: No engine part is touched while the sensor side holds 87 %.

    Readings, °C
      no  at                1     2     3     4
      --  -------------  ----  ----  ----  ----
       1  warm idle       402   398   455   401
          difference       +1    -4   +54     0
          × usual        +0.1  -0.3  +3.2   0.0
       4  steady cruise  open   636   679   640
          difference            -24   +41   -18
          × usual              -0.9  +1.9  -0.8

      Difference: from the middle of the others. × usual: how many times the usual
      scatter of healthy cylinders that is.

    Work done
      no  time, UTC         what                      estimated
      --  ----------------  ------------------------  ---------
       2  2026-05-04 08:44  Exchanged probes 2 and 3     50 min

    Suspects
      Probe pushed in further than the others,        #######     probably, 74 %
      cylinder 3
      Channel of the box reads wrong, display 3       #           unlikely, 9 %
      Injector delivers too little, cylinder 3        #           unlikely, 6 %
      This is how the engine is                       #           unlikely, 5 %
      Probe has drifted, cylinder 3 (now at cylinder  #           very unlikely, 4 %
      2)
      1 other                                         #           very unlikely, 2 %

    Signed
      Handed over by .................................. date .................
      Taken over by  .................................. date .................
    "#);
}

#[test]
fn job_card() {
    assert_snapshot!(plain(&closed_card()), @r#"
    Job card
    ========
    Vehicle:        invented *hill-climb* car | <b>no. 7</b>
    Complaint:      pot 3 reads high since the `new` probes
    Engine:         Invented four: 4 cylinders in line, port injection, a coil for
                    each plug, plenum, liquid cooled, firing order 1-3-4-2
    Probes:         type K, in the exhaust runners, depth set in a sliding gland
    Recent work:    Were probes or bosses just fitted?
    Opened:         2026-05-04 08:30 UTC
    Status:         closed, proven
    Time and parts: 1 h 12 hands-on, 45 min waiting, parts 4
    Verdict:        The fault is gone as far as the readings tell: almost certain,
                    98 %.

    Cause and remedy
      Cause:   Probe pushed in further than the others, cylinder 3
      That is: Probe pushed in further than the others, as it happens.
      Remedy:  Set the probe to its mark.

    Verification
      Remedied:             Probe pushed in further than the others, cylinder 3
      Confidence in cause:  almost certain, 97 %
      Readings after:       taken with the engine running
      Fault gone:           almost certain, 98 %
      Remaining difference: within normal (at most 0.4 × the usual scatter)
      Proof:                sure enough, and still gone at the run that verifies

    At a glance
      Temperatures at warm idle
      °C; # read, entry 1; [..] healthy ones keep in here
                                                                                read
      1   |   [..........................#..........................]     |      402
      2   |   [........................#............................]     |      398
      3   |   [.....................................................] #   | high 455
      4   |   [..........................#..........................]     |      401
                 360        380        400        420        440

      Temperatures at steady cruise
      °C; o before, entry 4, # after, entry 9; [..] healthy ones keep in here
                                                                        before after
      1   |   [.........................#.........................]   |   open   640
      2   |   [.......................#...........................]   |    636   636
      3   |   [..........................#...................o....]   |    679   641
      4   |   [.........................#.........................]   |    640   640
                  600       620        640        660       680

    Parts moved
      Everything is where it was when the job was opened.

    Cautions
      Caution: The exhaust burns skin long after it stopped glowing.

    Readings before the remedy, °C
      no  at                1     2     3     4
      --  -------------  ----  ----  ----  ----
       1  warm idle       402   398   455   401
          difference       +1    -4   +54     0
          × usual        +0.1  -0.3  +3.2   0.0
       4  steady cruise  open   636   679   640
          difference            -24   +41   -18
          × usual              -0.9  +1.9  -0.8

    Readings after the remedy, °C
      no  at               1    2    3    4
      --  -------------  ---  ---  ---  ---
       9  steady cruise  640  636  641  640

      Difference: from the middle of the others. × usual: how many times the usual
      scatter of healthy cylinders that is.

    Work done
      no  time, UTC         what                                           estimated
      --  ----------------  ---------------------------------------------  ---------
       2  2026-05-04 08:44  Exchanged probes 2 and 3                          50 min
       7  2026-05-04 08:37  Exchanged probes 2 and 3                          50 min
       8  2026-05-04 08:37  Remedied: probe pushed in further than the         5 min
                            others, cylinder 3

    Suspects
      Probe pushed in further than the others,      ##########  almost certain, 97 %
      cylinder 3
      Channel of the box reads wrong, display 3     #           unlikely, 9 %

    Signed
      Mechanic   .................................. date .................
      Checked by .................................. date .................
      Customer   .................................. date .................
    "#);
}

#[test]
#[expect(clippy::too_many_lines, reason = "a whole page stands in it")]
fn job_card_at_forty() {
    assert_snapshot!(narrow(&closed_card()), @r#"
    Job card
    ========
    Vehicle:      invented *hill-climb* car
                  | <b>no. 7</b>
    Complaint:    pot 3 reads high since the
                  `new` probes
    Engine:       Invented four: 4 cylinders
                  in line, port injection, a
                  coil for each plug,
                  plenum, liquid cooled,
                  firing order 1-3-4-2
    Probes:       type K, in the exhaust
                  runners, depth set in a
                  sliding gland
    Recent work:  Were probes or bosses just
                  fitted?
    Opened:       2026-05-04 08:30 UTC
    Status:       closed, proven
    Time and parts:
                  1 h 12 hands-on, 45 min
                  waiting, parts 4
    Verdict:      The fault is gone as far
                  as the readings tell:
                  almost certain, 98 %.

    Cause and remedy
      Cause:   Probe pushed in further than
               the others, cylinder 3
      That is: Probe pushed in further than
               the others, as it happens.
      Remedy:  Set the probe to its mark.

    Verification
      Remedied:    Probe pushed in further
                   than the others, cylinder
                   3
      Confidence in cause:
                   almost certain, 97 %
      Readings after:
                   taken with the engine
                   running
      Fault gone:  almost certain, 98 %
      Remaining difference:
                   within normal (at most
                   0.4 × the usual scatter)
      Proof:       sure enough, and still
                   gone at the run that
                   verifies

    At a glance
      Temperatures at warm idle
      °C; # read, entry 1; [..] healthy ones
      keep in here
                                        read
      1   | [.........#........]  |      402
      2   | [........#.........]  |      398
      3   | [..................]# | high 455
      4   | [.........#........]  |      401
                    400

      Temperatures at steady cruise
      °C; o before, entry 4, # after, entry
      9; [..] healthy ones keep in here
                                before after
      1   | [.......#.......] |   open   640
      2   | [......#........] |    636   636
      3   | [.......#.....o.] |    679   641
      4   | [.......#.......] |    640   640
            600      650

    Parts moved
      Everything is where it was when the
      job was opened.

    Cautions
      Caution: The exhaust burns skin long
               after it stopped glowing.

    Readings before the remedy, °C
      no  at             1     2     3     4
      --  ----------  ----  ----  ----  ----
       1  warm idle    402   398   455   401
          difference    +1    -4   +54     0
          × usual     +0.1  -0.3  +3.2   0.0
       4  steady      open   636   679   640
          cruise
          difference         -24   +41   -18
          × usual           -0.9  +1.9  -0.8

    Readings after the remedy, °C
      no  at               1    2    3    4
      --  -------------  ---  ---  ---  ---
       9  steady cruise  640  636  641  640

      Difference: from the middle of the
      others. × usual: how many times the
      usual scatter of healthy cylinders
      that is.

    Work done
      no  time, UTC    what        estimated
      --  -----------  ----------  ---------
       2  2026-05-04   Exchanged      50 min
          08:44        probes 2
                       and 3
       7  2026-05-04   Exchanged      50 min
          08:37        probes 2
                       and 3
       8  2026-05-04   Remedied:       5 min
          08:37        probe
                       pushed in
                       further
                       than the
                       others,
                       cylinder 3

    Suspects
      Probe pushed in further than the
      others, cylinder 3
          ##########  almost
                      certain,
                      97 %
      Channel of the box reads wrong,
      display 3
          #           unlikely,
                      9 %

    Signed
      Mechanic   .............. date .......
      Checked by .............. date .......
      Customer   .............. date .......
    "#);
}

#[test]
fn job_card_as_markdown() {
    assert_snapshot!(markdown::render(&closed_card()), @r#"
    # Job card

    - **Vehicle:** invented \*hill-climb\* car \| &lt;b&gt;no. 7&lt;/b&gt;
    - **Complaint:** pot 3 reads high since the \`new\` probes
    - **Engine:** Invented four: 4 cylinders in line, port injection, a coil for each plug, plenum, liquid cooled, firing order 1-3-4-2
    - **Probes:** type K, in the exhaust runners, depth set in a sliding gland
    - **Recent work:** Were probes or bosses just fitted?
    - **Opened:** 2026-05-04 08:30 UTC
    - **Status:** closed, proven
    - **Time and parts:** 1 h 12 hands-on, 45 min waiting, parts 4
    - **Verdict:** The fault is gone as far as the readings tell: almost certain, 98 %.

    ## Cause and remedy

    - **Cause:** Probe pushed in further than the others, cylinder 3
    - **That is:** Probe pushed in further than the others, as it happens.
    - **Remedy:** Set the probe to its mark.

    ## Verification

    - **Remedied:** Probe pushed in further than the others, cylinder 3
    - **Confidence in cause:** almost certain, 97 %
    - **Readings after:** taken with the engine running
    - **Fault gone:** almost certain, 98 %
    - **Remaining difference:** within normal (at most 0.4 × the usual scatter)
    - **Proof:** sure enough, and still gone at the run that verifies

    ## At a glance

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

    ## Parts moved

    Everything is where it was when the job was opened.

    ## Cautions

    > **Caution:** The exhaust burns skin long after it stopped glowing.

    ## Readings before the remedy, °C

    | no | at | 1 | 2 | 3 | 4 |
    | ---: | --- | ---: | ---: | ---: | ---: |
    | 1 | warm idle | 402 | 398 | 455 | 401 |
    |  | difference | +1 | -4 | +54 | 0 |
    |  | × usual | +0.1 | -0.3 | +3.2 | 0.0 |
    | 4 | steady cruise | open | 636 | 679 | 640 |
    |  | difference |  | -24 | +41 | -18 |
    |  | × usual |  | -0.9 | +1.9 | -0.8 |

    ## Readings after the remedy, °C

    | no | at | 1 | 2 | 3 | 4 |
    | ---: | --- | ---: | ---: | ---: | ---: |
    | 9 | steady cruise | 640 | 636 | 641 | 640 |

    Difference: from the middle of the others. × usual: how many times the usual scatter of healthy cylinders that is.

    ## Work done

    | no | time, UTC | what | estimated |
    | ---: | --- | --- | ---: |
    | 2 | 2026-05-04 08:44 | Exchanged probes 2 and 3 | 50 min |
    | 7 | 2026-05-04 08:37 | Exchanged probes 2 and 3 | 50 min |
    | 8 | 2026-05-04 08:37 | Remedied: probe pushed in further than the others, cylinder 3 | 5 min |

    ## Suspects

    - Probe pushed in further than the others, cylinder 3: almost certain, 97 %
    - Channel of the box reads wrong, display 3: unlikely, 9 %

    ## Signed

    - Mechanic .................................... date ................
    - Checked by .................................... date ................
    - Customer .................................... date ................
    "#);
}

#[test]
fn handover_sheet_as_markdown() {
    assert_snapshot!(markdown::render(&open_card(Scale::Fahrenheit)), @r#"
    # Handover sheet

    - **Vehicle:** invented \*hill-climb\* car \| &lt;b&gt;no. 7&lt;/b&gt;
    - **Complaint:** pot 3 reads high since the \`new\` probes
    - **Engine:** Invented four: 4 cylinders in line, port injection, a coil for each plug, plenum, liquid cooled, firing order 1-3-4-2
    - **Probes:** type K, in the exhaust runners, depth set in a sliding gland
    - **Recent work:** Were probes or bosses just fitted?
    - **Opened:** 2026-05-04 08:30 UTC
    - **Status:** open
    - **Time and parts:** 31 min hands-on, 45 min waiting, parts 4
    - **Verdict:** Very likely the number is wrong, not the engine: sensor side (probe, wiring, gauge) 87 %, engine 8 %, nothing wrong 5 %. Display 3 is the odd one.

    ## State of the engine

    - **Engine:** running at steady cruise
    - **Open:** nothing
    - **Load:** running at load was not confirmed to be safe

    ## To do next

    Look at the depth marks on cylinder 3.

    - **Why:** It separates the leading suspect from all others for the least time.
    - **Takes:** 6 min hands-on, 20 min waiting, no parts
    - **Tools:** torch, steel rule
    - **Set-up:** Engine to be stopped and cool enough to handle (20 min waiting). Heat shield off (8 min to open and close).

    ## At a glance

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

    **The plan**

    ```
    [Look at the depth marks on cylinder 3] (6 min hands-on, 20 min waiting, no
    parts)
    +- if less stem outside than on the others (56 %)
    |  then leads: Probe pushed in further than the others, cylinder 3, 98 %
    |  [Set the probe to its mark, cylinder 3]
    +- if all alike within 2 mm (40 %)
    |  then leads: Probe pushed in further than the others, cylinder 3, 46 %
    |  [Exchange probes 3 and 2]
    +- if more stem outside (4 %)
       then leads: Probe pushed in further than the others, cylinder 3, 41 %
       [Exchange probes 3 and 2]
    ```

    ## Parts moved

    - Probe 3 is now at cylinder 2.
    - Probe 2 is now at cylinder 3.

    To put everything back:

    1. Exchange the probes now at cylinders 2 and 3.

    ## Cautions

    > **Caution:** The exhaust burns skin long after it stopped glowing.

    > **Rule:** No engine part is touched while the sensor side holds 87 %.

    ## Readings, °F

    | no | at | 1 | 2 | 3 | 4 |
    | ---: | --- | ---: | ---: | ---: | ---: |
    | 1 | warm idle | 756 | 748 | 851 | 754 |
    |  | difference | +2 | -7 | +97 | 0 |
    |  | × usual | +0.1 | -0.3 | +3.2 | 0.0 |
    | 4 | steady cruise | open | 1177 | 1254 | 1184 |
    |  | difference |  | -42 | +74 | -32 |
    |  | × usual |  | -0.9 | +1.9 | -0.8 |

    Difference: from the middle of the others. × usual: how many times the usual scatter of healthy cylinders that is.

    ## Work done

    | no | time, UTC | what | estimated |
    | ---: | --- | --- | ---: |
    | 2 | 2026-05-04 08:44 | Exchanged probes 2 and 3 | 50 min |

    ## Suspects

    - Probe pushed in further than the others, cylinder 3: probably, 74 %
    - Channel of the box reads wrong, display 3: unlikely, 9 %
    - Injector delivers too little, cylinder 3: unlikely, 6 %
    - This is how the engine is: unlikely, 5 %
    - Probe has drifted, cylinder 3 (now at cylinder 2): very unlikely, 4 %
    - 1 other: very unlikely, 2 %

    ## Signed

    - Handed over by .................................... date ................
    - Taken over by .................................... date ................
    "#);
}

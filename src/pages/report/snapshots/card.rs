//! The job card and the handover sheet.

use insta::assert_snapshot;
use measure::units::Scale;

use super::{closed_card, narrow, open_card, plain};

#[test]
#[expect(clippy::too_many_lines, reason = "a whole page stands in it")]
fn handover_sheet() {
    assert_snapshot!(plain(&open_card(Scale::Celsius)), @r#"
    Handover sheet: invented *hill-climb* car | <b>no. 7</b>
    ========================================================
    Vehicle:   invented *hill-climb* car | <b>no. 7</b>
    Date:      opened 2026-05-04, last entry 2026-05-04
    Complaint: pot 3 reads high since the `new` probes

    So far:         Very likely the number is wrong, not the engine: sensor side
                    (probe, wiring, gauge) 87 %, engine 8 %, nothing wrong 5 %.
                    Display 3 is the odd one.
    To do next:     Look at the depth marks on cylinder 3.
    Why:            It separates the leading suspect from all others for the least
                    time.
    Takes:          6 min hands-on, 20 min waiting, no parts
    Tools:          torch, steel rule
    Set-up:         Engine to be stopped and cool enough to handle (20 min waiting).
                    Heat shield off (8 min to open and close).
    Checked:        All displays at warm idle and steady cruise.
    Left as:        Running at steady cruise. Nothing is open. Running at load was
                    not confirmed to be safe.
    Time and parts: 31 min hands-on, 45 min waiting, parts 4

    Temperatures at warm idle
    °C; # read, entry 1; [..] healthy ones keep in here
                                                                                read
    1   |   [...........................#...........................]     |      402
    2   |   [.........................#.............................]     |      398
    3   |   [.......................................................] #   | high 455
    4   |   [...........................#...........................]     |      401
                360        380        400        420         440

    Handed over by .................................. date .................
    Taken over by  .................................. date .................


    For the next mechanic
    ---------------------
    Engine:      Invented four: 4 cylinders in line, port injection, a coil for each
                 plug, plenum, liquid cooled, firing order 1-3-4-2
    Probes:      type K, in the exhaust runners, depth set in a sliding gland
    Recent work: Were probes or bosses just fitted?
    Status:      open

    Leading causes
      Probe pushed in further than the others,        #######     probably, 74 %
      cylinder 3
      Channel of the box reads wrong, display 3       #           unlikely, 9 %
      Injector delivers too little, cylinder 3        #           unlikely, 6 %
      Probe has drifted, cylinder 3 (now at cylinder  #           very unlikely, 4 %
      2)
      This is how the engine is                       #           unlikely, 5 %

    Tests and what they showed
      - Exchanged probes 2 and 3 (entry 2).

    Where everything is
      The engine from above
      steady cruise, °C, entry 4
      (1)  open  fires 1st
      (2)   636  fires 4th  has probe 3
      (3)   679  fires 2nd  has probe 2
      (4)   640  fires 3rd

      To bring everything home:
      1. Exchange the probes now at cylinders 2 and 3.

    What to watch
      - Parts are not in their own places: read display and cylinder by the picture.

      Caution: The exhaust burns skin long after it stopped glowing.
      Rule: No engine part is touched while the sensor side holds 87 %.

      The plan
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

    Other readings and exchanges
      Temperatures at steady cruise
      °C; # read, entry 4; [..] healthy ones keep in here
                                                                                read
      1   |   [...........................................................]   | open
      2   |   [...........................#...............................]   |  636
      3   |   [....................................................#......]   |  679
      4   |   [.............................#.............................]   |  640
                   600         620         640         660         680


    The record
    ----------
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

    Entries, with their times as estimated
      no  time, UTC         what                                   hands-on  waiting
      --  ----------------  -------------------------------------  --------  -------
       1  2026-05-04 08:37  Readings at warm idle: 402, 398, 455,     5 min    8 min
                            401 °C
       2  2026-05-04 08:44  Exchanged probes 2 and 3                 33 min   45 min
       3  2026-05-04 08:51  Engine is warm
       4  2026-05-04 08:58  Readings at steady cruise: open, 636,     5 min    8 min
                            679, 640 °C
    "#);
}

#[test]
fn job_card() {
    assert_snapshot!(plain(&closed_card()), @r#"
    Job card: invented *hill-climb* car | <b>no. 7</b>
    ==================================================
    Vehicle:   invented *hill-climb* car | <b>no. 7</b>
    Date:      opened 2026-05-04, closed 2026-05-04
    Complaint: pot 3 reads high since the `new` probes

    What was wrong:    Probe pushed in further than the others, cylinder 3. Probe
                       pushed in further than the others, as it happens. The number
                       was wrong, not the engine.
    What was done:     At cylinder 3, set the probe to its mark. Parts that were
                       exchanged for the checks are back in their places.
    How it was proven: At warm idle display 3 stood 54 °C above the others before
                       the work. Everything that was read and looked at points to
                       what was put right, and it has stayed away since.
    Time and parts:    1 h 12 hands-on, 45 min waiting, parts 4

    Temperatures at warm idle
    °C; # read, entry 1; [..] healthy ones keep in here
                                                                                read
    1   |   [...........................#...........................]     |      402
    2   |   [.........................#.............................]     |      398
    3   |   [.......................................................] #   | high 455
    4   |   [...........................#...........................]     |      401
                360        380        400        420         440

    Mechanic   .................................. date .................
    Checked by .................................. date .................
    Customer   .................................. date .................


    For the next mechanic
    ---------------------
    Engine:      Invented four: 4 cylinders in line, port injection, a coil for each
                 plug, plenum, liquid cooled, firing order 1-3-4-2
    Probes:      type K, in the exhaust runners, depth set in a sliding gland
    Recent work: Were probes or bosses just fitted?
    Status:      closed, proven

    Cause
      Probe pushed in further than the others,      ##########  almost certain, 97 %
      cylinder 3

    Put right
      - Probe pushed in further than the others, cylinder 3: set the probe to its
        mark.

      Readings after:       taken with the engine running
      Fault gone:           almost certain, 98 %
      Remaining difference: within normal (at most 0.4 × the usual scatter)
      Proof:                sure enough, and still gone at the run that verifies

    Tests and what they showed
      - Exchanged probes 2 and 3 (entry 2).
      - Put back probes 2 and 3 (entry 7).

    Where everything is
      The engine from above
      steady cruise, °C, entry 9
      (1)  640  fires 1st
      (2)  636  fires 4th
      (3)  641  fires 2nd
      (4)  640  fires 3rd
      Read before the last work was done.
      Everything is where it was when the job was opened.

    What to watch
      Caution: The exhaust burns skin long after it stopped glowing.

    Other readings and exchanges
      Temperatures at steady cruise
      °C; o before, entry 4, # after, entry 9; [..] healthy ones keep in here
                                                                        before after
      1   |   [.........................#.........................]   |   open   640
      2   |   [.......................#...........................]   |    636   636
      3   |   [..........................#...................o....]   |    679   641
      4   |   [.........................#.........................]   |    640   640
                  600       620        640        660       680


    The record
    ----------
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

    Entries, with their times as estimated
      no  time, UTC         what                                   hands-on  waiting
      --  ----------------  -------------------------------------  --------  -------
       1  2026-05-04 08:37  Readings at warm idle: 402, 398, 455,     5 min    8 min
                            401 °C
       2  2026-05-04 08:44  Exchanged probes 2 and 3                 33 min   45 min
       3  2026-05-04 08:51  Engine is warm
       4  2026-05-04 08:58  Readings at steady cruise: open, 636,     5 min    8 min
                            679, 640 °C
       7  2026-05-04 08:37  Put back probes 2 and 3                  33 min   45 min
       8  2026-05-04 08:37  Remedied: probe pushed in further         5 min
                            than the others, cylinder 3
       9  2026-05-04 08:37  Readings at steady cruise: 640, 636,      5 min    8 min
                            641, 640 °C
      10  2026-05-04 08:37  Closed, verified and proven
    "#);
}

#[test]
#[expect(clippy::too_many_lines, reason = "a whole page stands in it")]
fn job_card_at_forty() {
    assert_snapshot!(narrow(&closed_card()), @r#"
    Job card: invented *hill-climb* car |
    <b>no. 7</b>
    =====================================
    Vehicle:   invented *hill-climb* car |
               <b>no. 7</b>
    Date:      opened 2026-05-04, closed
               2026-05-04
    Complaint: pot 3 reads high since the
               `new` probes

    What was wrong:
                  Probe pushed in further
                  than the others, cylinder
                  3. Probe pushed in further
                  than the others, as it
                  happens. The number was
                  wrong, not the engine.
    What was done:
                  At cylinder 3, set the
                  probe to its mark. Parts
                  that were exchanged for
                  the checks are back in
                  their places.
    How it was proven:
                  At warm idle display 3
                  stood 54 °C above the
                  others before the work.
                  Everything that was read
                  and looked at points to
                  what was put right, and it
                  has stayed away since.
    Time and parts:
                  1 h 12 hands-on, 45 min
                  waiting, parts 4

    Temperatures at warm idle
    °C; # read, entry 1; [..] healthy ones
    keep in here
                                        read
    1   | [..........#.........]  |      402
    2   | [.........#..........]  |      398
    3   | [....................]# | high 455
    4   | [..........#.........]  |      401
         350       400        450

    Mechanic   ............... date .......
    Checked by ............... date .......
    Customer   ............... date .......


    For the next mechanic
    ---------------------
    Engine:      Invented four: 4 cylinders
                 in line, port injection, a
                 coil for each plug, plenum,
                 liquid cooled, firing order
                 1-3-4-2
    Probes:      type K, in the exhaust
                 runners, depth set in a
                 sliding gland
    Recent work: Were probes or bosses just
                 fitted?
    Status:      closed, proven

    Cause
      Probe pushed in further than the
      others, cylinder 3
          ##########  almost
                      certain,
                      97 %

    Put right
      - Probe pushed in further than the
        others, cylinder 3: set the probe to
        its mark.

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

    Tests and what they showed
      - Exchanged probes 2 and 3 (entry 2).
      - Put back probes 2 and 3 (entry 7).

    Where everything is
      The engine from above
      steady cruise, °C, entry 9
      (1)  640  fires 1st
      (2)  636  fires 4th
      (3)  641  fires 2nd
      (4)  640  fires 3rd
      Read before the last work was done.
      Everything is where it was when the
      job was opened.

    What to watch
      Caution: The exhaust burns skin long
               after it stopped glowing.

    Other readings and exchanges
      Temperatures at steady cruise
      °C; o before, entry 4, # after, entry
      9; [..] healthy ones keep in here
                                before after
      1   | [.......#.......] |   open   640
      2   | [......#........] |    636   636
      3   | [.......#.....o.] |    679   641
      4   | [.......#.......] |    640   640
            600      650


    The record
    ----------
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

    Entries, with their times as estimated
      - no: 1
        time, UTC: 2026-05-04 08:37
        what: Readings at warm idle: 402,
        398, 455, 401 °C
        hands-on: 5 min
        waiting: 8 min
      - no: 2
        time, UTC: 2026-05-04 08:44
        what: Exchanged probes 2 and 3
        hands-on: 33 min
        waiting: 45 min
      - no: 3
        time, UTC: 2026-05-04 08:51
        what: Engine is warm
      - no: 4
        time, UTC: 2026-05-04 08:58
        what: Readings at steady cruise:
        open, 636, 679, 640 °C
        hands-on: 5 min
        waiting: 8 min
      - no: 7
        time, UTC: 2026-05-04 08:37
        what: Put back probes 2 and 3
        hands-on: 33 min
        waiting: 45 min
      - no: 8
        time, UTC: 2026-05-04 08:37
        what: Remedied: probe pushed in
        further than the others, cylinder 3
        hands-on: 5 min
      - no: 9
        time, UTC: 2026-05-04 08:37
        what: Readings at steady cruise:
        640, 636, 641, 640 °C
        hands-on: 5 min
        waiting: 8 min
      - no: 10
        time, UTC: 2026-05-04 08:37
        what: Closed, verified and proven
    "#);
}

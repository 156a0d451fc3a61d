//! The page of what to do next.

use crate::report::sample;
use crate::report::sample::FIT_DEEP;
use facts::knowledge::Thermal;
use insta::assert_snapshot;
use judge::plan::{JobEnd, Step};
use measure::engine::Place;
use measure::engine::ProbeSite;
use measure::engine::Regime;

use super::{closed, narrow, next_of, next_step, plain};

#[test]
fn next_page() {
    assert_snapshot!(plain(&next_of(&sample::advice(), &sample::timeline())), @r#"
    Next: look at the depth marks on cylinder 3
    ===========================================
    Why:    It separates the leading suspect from all others for the least time.
    Takes:  6 min hands-on, 20 min waiting, no parts
    Tools:  torch, steel rule
    Set-up: Engine to be stopped and cool enough to handle (20 min waiting). Heat
            shield off (8 min to open and close).

    Caution: The exhaust burns skin long after it stopped glowing.

    what it can show         chance  then leads               and next
    -----------------------  ------  -----------------------  ----------------------
    less stem outside than     56 %  probe pushed in further  at cylinder 3, set the
    on the others                    than the others 98 %     probe to its mark
    more stem outside           4 %  probe pushed in further  exchange probes 3 and
                                     than the others 41 %     2
    all alike within 2 mm      40 %  probe pushed in further  exchange probes 3 and
                                     than the others 46 %     2

    How
      1. Wipe the stem clean just outside the fitting.
      2. Measure from the fitting to the collar on this probe and on its neighbours.

    Record it
      Type the one that is true:
          oddpot found demo look-fit deeper --cylinder 3
          oddpot found demo look-fit shallower --cylinder 3
          oddpot found demo look-fit same --cylinder 3

    Don't do yet
      Rule: No engine part is touched while the sensor side holds 87 %. So not now:
            exchange injectors 3 and 2.

    What to expect
      To a proven cure: 43 min of labour in all on average (waiting and parts
                        counted in), 26 min hands-on
      How good:         at most 3.1 % above the best possible
      How firm:         holds if any cause is twice or half as common as assumed, or
                        any row of this test off by two

    Instead
      what                        hands-on  waiting  parts  to a cure
      --------------------------  --------  -------  -----  ---------
      exchange probes 3 and 2       25 min   45 min      4     1 h 06
      take readings at cold soak     3 min      8 h      0     2 h 10

    Where everything is
      The engine from above
      steady cruise, °C, entry 4
      (1)  open  fires 1st
      (2)   636  fires 4th  has probe 3
      (3)   679  fires 2nd  has probe 2
      (4)   640  fires 3rd

      To bring everything home:
      1. Exchange the probes now at cylinders 2 and 3.
    "#);
}

#[test]
fn next_page_at_forty() {
    assert_snapshot!(narrow(&next_of(&sample::advice(), &sample::timeline())), @r#"
    Next: look at the depth marks on
    cylinder 3
    ================================
    Why:    It separates the leading suspect
            from all others for the least
            time.
    Takes:  6 min hands-on, 20 min waiting,
            no parts
    Tools:  torch, steel rule
    Set-up: Engine to be stopped and cool
            enough to handle (20 min
            waiting). Heat shield off (8 min
            to open and close).

    Caution: The exhaust burns skin long
             after it stopped glowing.

    what it     chance  then       and next
    can show            leads
    ----------  ------  ---------  ---------
    less stem     56 %  probe      at
    outside             pushed in  cylinder
    than on             further    3, set
    the others          than the   the probe
                        others     to its
                        98 %       mark
    more stem      4 %  probe      exchange
    outside             pushed in  probes 3
                        further    and 2
                        than the
                        others
                        41 %
    all alike     40 %  probe      exchange
    within 2            pushed in  probes 3
    mm                  further    and 2
                        than the
                        others
                        46 %

    How
      1. Wipe the stem clean just outside
         the fitting.
      2. Measure from the fitting to the
         collar on this probe and on its
         neighbours.

    Record it
      Type the one that is true:
          oddpot found demo look-fit \
            deeper --cylinder 3
          oddpot found demo look-fit \
            shallower --cylinder 3
          oddpot found demo look-fit same \
            --cylinder 3

    Don't do yet
      Rule: No engine part is touched while
            the sensor side holds 87 %. So
            not now: exchange injectors 3
            and 2.

    What to expect
      To a proven cure:
                   43 min of labour in all
                   on average (waiting and
                   parts counted in), 26 min
                   hands-on
      How good:    at most 3.1 % above the
                   best possible
      How firm:    holds if any cause is
                   twice or half as common
                   as assumed, or any row of
                   this test off by two

    Instead
      - what: exchange probes 3 and 2
        hands-on: 25 min
        waiting: 45 min
        parts: 4
        to a cure: 1 h 06
      - what: take readings at cold soak
        hands-on: 3 min
        waiting: 8 h
        parts: 0
        to a cure: 2 h 10

    Where everything is
      The engine from above
      steady cruise, °C, entry 4
      (1)  open  fires 1st
      (2)   636  fires 4th  has probe 3
      (3)   679  fires 2nd  has probe 2
      (4)   640  fires 3rd

      To bring everything home:
      1. Exchange the probes now at
         cylinders 2 and 3.
    "#);
}

#[test]
fn next_page_of_an_exchange() {
    let step =
        Step::Test { test: sample::SWAP_PROBE, cylinder: Some(3), partner: Some(2), at: None };
    assert_snapshot!(next_step(step, &sample::timeline()), @r#"
    Next: exchange probes 3 and 2
    =============================
    Takes:  5 min hands-on, no parts
    Tools:  torch, steel rule
    Set-up: Engine to be stopped and cool enough to handle (20 min waiting). Heat
            shield off (8 min to open and close).

    How
      1. Wipe the stem clean just outside the fitting.
      2. Measure from the fitting to the collar on this probe and on its neighbours.

    Record it
      The first line when it is done, the second with the engine at steady cruise.
      For T1 and on, type what each display shows: a number in °C, open, stuck,
      falling, or 480..510 if it jumps.
          oddpot exchange demo probe 3 2
          oddpot temps demo --at cruise T1 T2 T3 T4

    What to expect
      To a proven cure: 40 min of labour in all on average (waiting and parts
                        counted in), 24 min hands-on
      How good:         the best possible
      How firm:         there is no choice, whatever the figures

    Where everything is
      The engine from above
      steady cruise, °C, entry 4
      (1)  open  fires 1st
      (2)   636  fires 4th  has probe 3
      (3)   679  fires 2nd  has probe 2
      (4)   640  fires 3rd

      To bring everything home:
      1. Exchange the probes now at cylinders 2 and 3.
    "#);
}

#[test]
fn next_page_of_a_remedy() {
    let step = Step::Remedy(sample::at(FIT_DEEP, Place::Cylinder(3)));
    assert_snapshot!(next_step(step, &sample::timeline()), @r#"
    Next: at cylinder 3, set the probe to its mark
    ==============================================
    Fixes:     Probe pushed in further than the others, cylinder 3: probably, 74 %
    Takes:     5 min hands-on, no parts
    Set-up:    Engine to be stopped and cool enough to handle (20 min waiting). Heat
               shield off (8 min to open and close).
    Before it: look at the depth marks; the remedy destroys the evidence

    How
      1. Set the probe to its mark.
      2. Then take readings to verify it.

    Record it
          oddpot remedy demo fit-deep@3

    What to expect
      To a proven cure: 40 min of labour in all on average (waiting and parts
                        counted in), 24 min hands-on
      How good:         the best possible
      How firm:         there is no choice, whatever the figures

    Where everything is
      The engine from above
      steady cruise, °C, entry 4
      (1)  open  fires 1st
      (2)   636  fires 4th  has probe 3
      (3)   679  fires 2nd  has probe 2
      (4)   640  fires 3rd

      To bring everything home:
      1. Exchange the probes now at cylinders 2 and 3.
    "#);
}

#[test]
fn next_page_of_readings() {
    let step = Step::Readings { at: fixture::at(Regime::Full), site: ProbeSite::Head };
    let mut timeline = sample::timeline();
    timeline.open_access = vec![0];
    timeline.thermal = Thermal::Cold;
    assert_snapshot!(next_step(step, &timeline), @r#"
    Next: take readings at full load, head probes
    =============================================
    Takes:  5 min hands-on, no parts
    Set-up: Close up before the engine runs: heat shield off. Engine to be running
            at full load (2 min, 8 min waiting).

    How
      1. Hold the engine at full load until all displays are steady.
      2. Write down every display within a few seconds of each other.

    Record it
      For T1 and on, type what each display shows: a number in °C, open, stuck,
      falling, or 480..510 if it jumps.
          oddpot temps demo --at full --head T1 T2 T3 T4

    What to expect
      To a proven cure: 40 min of labour in all on average (waiting and parts
                        counted in), 24 min hands-on
      How good:         the best possible
      How firm:         there is no choice, whatever the figures

    Where everything is
      The engine from above
      steady cruise, °C, entry 4
      (1)  open  fires 1st
      (2)   636  fires 4th  has probe 3
      (3)   679  fires 2nd  has probe 2
      (4)   640  fires 3rd

      To bring everything home:
      1. Exchange the probes now at cylinders 2 and 3.
    "#);
}

#[test]
fn next_page_to_verify_and_to_stop() {
    let (_, timeline, _) = closed();
    assert_snapshot!(next_step(Step::Verify { at: fixture::at(Regime::Cruise) }, &timeline), @r#"
    Next: take the readings that verify the remedy, at cruise
    =========================================================
    Takes: 5 min hands-on, no parts

    How
      1. Hold the engine at steady cruise as before until all displays are steady.
      2. Write down every display, then verify.

    Record it
      For T1 and on, type what each display shows: a number in °C, open, stuck,
      falling, or 480..510 if it jumps.
          oddpot temps demo --at cruise T1 T2 T3 T4
          oddpot verify demo

    What to expect
      To a proven cure: 40 min of labour in all on average (waiting and parts
                        counted in), 24 min hands-on
      How good:         the best possible
      How firm:         there is no choice, whatever the figures

    Where everything is
      The engine from above
      steady cruise, °C, entry 9
      (1)  640  fires 1st
      (2)  636  fires 4th
      (3)  641  fires 2nd
      (4)  640  fires 3rd
      Read before the last work was done.
      Everything is where it was when the job was opened.
    "#);
    assert_snapshot!(next_step(Step::End(JobEnd::Normal), &sample::timeline()), @r#"
    Next: write it down as normal and close
    =======================================
    Very likely the number is wrong, not the engine: sensor side (probe, wiring,
    gauge) 87 %, engine 8 %, nothing wrong 5 %. Display 3 is the odd one.

    Record it
          oddpot record demo
          oddpot close demo

    Where everything is
      The engine from above
      steady cruise, °C, entry 4
      (1)  open  fires 1st
      (2)   636  fires 4th  has probe 3
      (3)   679  fires 2nd  has probe 2
      (4)   640  fires 3rd

      To bring everything home:
      1. Exchange the probes now at cylinders 2 and 3.
    "#);
}

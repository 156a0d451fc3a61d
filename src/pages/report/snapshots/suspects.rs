//! The page of suspects.

use crate::report::{LocalTime, sample};
use insta::assert_snapshot;
use measure::units::Scale;

use super::{narrow, plain, suspects};

#[test]
fn suspects_page() {
    assert_snapshot!(plain(&suspects()), @r#"
    Suspects
    ========
    Very likely the number is wrong, not the engine: sensor side (probe, wiring,
    gauge) 87 %, engine 8 %, nothing wrong 5 %. Display 3 is the odd one.

    Probe pushed in further than the others,          #######     probably, 74 %
    cylinder 3
    Channel of the box reads wrong, display 3         #           unlikely, 9 %
    Injector delivers too little, cylinder 3          #           unlikely, 6 %
    This is how the engine is                         #           unlikely, 5 %
    Probe has drifted, cylinder 3 (now at cylinder    #           very unlikely, 4 %
    2)
    Injector delivers too little, cylinder 2          #           very unlikely, 2 %

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
      - Entry 4: display 3 is furthest off, +1.6 × the usual scatter. Among 3
        healthy displays the furthest stays within 2.9 in 19 of 20 sets: nothing
        unusual.
      - Grubbs' test calls none odd (1.15, limit 1.15), Dixon's calls none odd
        (0.91, limit 0.97). With 3 displays one 3.0 × the usual scatter off is seen
        in 5 % and 5 % of cases, so a clean result proves nothing.

    By group and part
      - Sensor side 87 %: probe and its fit 87 %
      - Fuel 8 %
      - No fault 5 %

      Parts: fit of the probe 74 %, channel of the display box 9 %, injector 8 %,
      probe body 4 %.

    Notes
      - Pairs of causes that were too improbable to follow up: under 1 % at most.
      - Entry 4: Display 1 shows no number, so it is left out of the comparison.
    "#);
}

#[test]
fn suspects_page_at_forty() {
    assert_snapshot!(narrow(&suspects()), @r#"
    Suspects
    ========
    Very likely the number is wrong, not the
    engine: sensor side (probe, wiring,
    gauge) 87 %, engine 8 %, nothing wrong
    5 %. Display 3 is the odd one.

    Probe pushed in further than the others,
    cylinder 3
        #######     probably,
                    74 %
    Channel of the box reads wrong, display
    3
        #           unlikely, 9 %
    Injector delivers too little, cylinder 3
        #           unlikely, 6 %
    This is how the engine is
        #           unlikely, 5 %
    Probe has drifted, cylinder 3 (now at
    cylinder 2)
        #           very
                    unlikely, 4 %
    Injector delivers too little, cylinder 2
        #           very
                    unlikely, 2 %

    Readings, °C
      no  at             1     2     3     4
      --  ----------  ----  ----  ----  ----
       1  warm idle    402   398   455   401
          difference    +1    -4   +54     0
          × usual     +0.1  -0.3  +3.2   0.0
       4  steady      open   636   679   640
          cruise
          difference         -24   +41   -18
          × usual           -0.9  +1.9  -0.8

      Difference: from the middle of the
      others. × usual: how many times the
      usual scatter of healthy cylinders
      that is.
      - Entry 4: display 3 is furthest off,
        +1.6 × the usual scatter. Among 3
        healthy displays the furthest stays
        within 2.9 in 19 of 20 sets: nothing
        unusual.
      - Grubbs' test calls none odd (1.15,
        limit 1.15), Dixon's calls none odd
        (0.91, limit 0.97). With 3 displays
        one 3.0 × the usual scatter off is
        seen in 5 % and 5 % of cases, so a
        clean result proves nothing.

    By group and part
      - Sensor side 87 %: probe and its fit
        87 %
      - Fuel 8 %
      - No fault 5 %

      Parts: fit of the probe 74 %, channel
      of the display box 9 %, injector 8 %,
      probe body 4 %.

    Notes
      - Pairs of causes that were too
        improbable to follow up: under 1 %
        at most.
      - Entry 4: Display 1 shows no number,
        so it is left out of the comparison.
    "#);
}

#[test]
fn suspects_of_an_engine_with_many_displays() {
    let mut timeline = sample::timeline();
    timeline.engine = sample::engine(10);
    timeline.sets.truncate(1);
    timeline.sets[0].readings =
        sample::degrees(&[402.0, 398.0, 455.0, 401.0, 400.0, 399.0, 404.0, 396.0, 403.0, 401.0]);
    let mut assessment = sample::assessment();
    assessment.surprise.unexplained = true;
    assessment.surprise.p_value = 0.002;
    assessment.notes.clear();
    let doc = crate::report::suspects(
        &sample::knowledge(),
        &timeline,
        &assessment,
        (Scale::Fahrenheit, &LocalTime::default()),
    );
    assert_snapshot!(plain(&doc), @r#"
    Suspects
    ========
    Very likely the number is wrong, not the engine: sensor side (probe, wiring,
    gauge) 87 %, engine 8 %, nothing wrong 5 %. Display 3 is the odd one.

    Doubt: this doesn't add up: recheck the entries, or suspect something that is
           not in the list. If the best of the known causes were true, so poor a fit
           would come up in under 1 % of jobs.

    Probe pushed in further than the others,          #######     probably, 74 %
    cylinder 3
    Channel of the box reads wrong, display 3         #           unlikely, 9 %
    Injector delivers too little, cylinder 3          #           unlikely, 6 %
    This is how the engine is                         #           unlikely, 5 %
    Probe has drifted, cylinder 3 (now at cylinder    #           very unlikely, 4 %
    2)
    Injector delivers too little, cylinder 2          #           very unlikely, 2 %

    Readings, °F
      Warm idle (entry 1):

      display  reading  difference  × usual
      -------  -------  ----------  -------
            1      756          +2     +0.1
            2      748          -7     -0.3
            3      851         +97     +3.2
            4      754           0      0.0
            5      752
            6      750
            7      759
            8      745
            9      757
           10      754

      Difference: from the middle of the others. × usual: how many times the usual
      scatter of healthy cylinders that is.
      - Entry 1: display 3 is furthest off, +2.2 × the usual scatter. Among 10
        healthy displays the furthest stays within 3.0 in 19 of 20 sets: nothing
        unusual.
      - Grubbs' test calls it odd (2.82, limit 2.29), Dixon's calls it odd (0.86,
        limit 0.47). With 10 displays one 3.0 × the usual scatter off is seen in
        27 % and 25 % of cases, so a clean result proves nothing.

    By group and part
      - Sensor side 87 %: probe and its fit 87 %
      - Fuel 8 %
      - No fault 5 %

      Parts: fit of the probe 74 %, channel of the display box 9 %, injector 8 %,
      probe body 4 %.

    Notes
      - Pairs of causes that were too improbable to follow up: under 1 % at most.
    "#);
}

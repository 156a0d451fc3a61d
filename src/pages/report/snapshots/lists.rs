//! Explanations, journal, jobs and verification.

use crate::report::JobAbout;
use crate::report::sample;
use crate::report::{JobLine, LocalTime};
use facts::job::entry::What;
use facts::job::timeline::{Closing, Standing};
use facts::knowledge::Item;
use insta::assert_snapshot;
use measure::engine::Place;
use measure::units::Scale;

use super::plain;

#[test]
fn why_pages() {
    let (knowledge, timeline) = (sample::knowledge(), sample::timeline());
    let cause = sample::cause_explanation();
    let cause = crate::report::why_cause(&knowledge, &timeline, &cause, Scale::Celsius, true);
    assert_snapshot!(plain(&cause), @r#"
    Why: Probe pushed in further than the others, cylinder 3
    ========================================================
    Now: probably, 74 %.

    Before anything was entered
      - 3 times as common after probes were fitted.

    Entry by entry
      no  entry                      before  after  makes it
      --  -------------------------  ------  -----  ------------------
          before any entry                     3 %
       1  readings at warm idle         3 %   42 %  23 times likelier
       4  readings at steady cruise    42 %   74 %  3.9 times likelier

    What it would do to the readings, °C
      no  at             display  expected  give or take      shown
      --  -------------  -------  --------  ------------  ---------
       1  warm idle            3       +50            22        +54
       4  steady cruise        3       +36            18  no number

      Differences from the middle of the other displays.
    "#);
    let test = crate::report::why_test(&knowledge, &timeline, &sample::test_explanation(), true);
    assert_snapshot!(plain(&test), @r#"
    Why: look at the depth marks on cylinder 3
    ==========================================
    Why:              It separates the leading suspect from all others for the least
                      time.
    Takes:            6 min hands-on, 20 min waiting, no parts
    Tools:            torch, steel rule
    Set-up:           Engine to be stopped and cool enough to handle (20 min
                      waiting). Heat shield off (8 min to open and close).
    Worth:            saves 23 min against the best plan without it
    To a proven cure: 43 min when starting with it, 1 h 06 without it (labour, on
                      average)
    Tells:            0.61 bits about the cause

    What each outcome would move
      outcome                       chance  suspect                        now  then
      ----------------------------  ------  ----------------------------  ----  ----
      less stem outside than on       56 %  probe pushed in further than  74 %  98 %
      the others                            the others, cylinder 3
                                            channel of the box reads       9 %   1 %
                                            wrong, display 3
      all alike within 2 mm           40 %  probe pushed in further than  74 %  46 %
                                            the others, cylinder 3
      more stem outside                4 %  no suspect moves
    "#);
}

#[test]
fn journal_page() {
    let doc = crate::report::journal(
        &sample::knowledge(),
        &sample::journal(),
        Scale::Fahrenheit,
        &LocalTime::default(),
    );
    assert_snapshot!(plain(&doc), @r#"
    Journal
    =======
    Opened:    2026-05-04 08:30 UTC
    Vehicle:   invented *hill-climb* car | <b>no. 7</b>
    Complaint: pot 3 reads high since the `new` probes

    no  time, UTC         what
    --  ----------------  ----------------------------------------------  ----------
     1  2026-05-04 08:37  readings at warm idle: 756, 748, 851, 754 °F
     2  2026-05-04 08:44  exchanged probes 2 and 3
     3  2026-05-04 08:51  engine is warm
     4  2026-05-04 08:58  readings at steady cruise: open, 1177, 1254,
                          1184 °F
     5  2026-05-04 09:05  look at the depth marks, cylinder 2: more stem  taken back
                          outside
     6  2026-05-04 09:12  undid entry 5
    "#);
}

#[test]
fn jobs_page() {
    let journal = sample::journal();
    let lines = [
        JobLine {
            name: "demo".to_owned(),
            about: Ok(JobAbout {
                opened: journal.head.opened,
                vehicle: journal.head.vehicle,
                complaint: journal.head.complaint,
                entries: 6,
                standing: Standing::Closed(Closing::Unproven),
            }),
        },
        JobLine {
            name: "spoilt".to_owned(),
            about: Err("not a job file: line 3 is cut short".to_owned()),
        },
    ];
    assert_snapshot!(plain(&crate::report::jobs(&lines, &LocalTime::default())), @r#"
    Jobs
    ====
    job     opened      status            entries  vehicle           complaint
    ------  ----------  ----------------  -------  ----------------  ---------------
    demo    2026-05-04  closed, not             6  invented          pot 3 reads
                        proven                     *hill-climb* car  high since the
                                                   | <b>no. 7</b>    `new` probes
    spoilt              unreadable                                   not a job file:
                                                                     line 3 is cut
                                                                     short
    "#);
    assert_snapshot!(plain(&crate::report::jobs(&[], &LocalTime::default())), @r#"
    Jobs
    ====
    There are no jobs yet.
    "#);
}

#[test]
fn verify_pages() {
    let (knowledge, timeline) = (sample::knowledge(), sample::timeline());
    let doc = crate::report::verify(&knowledge, &timeline, &sample::verified());
    assert_snapshot!(plain(&doc), @r#"
    Verified: the fault is gone and its cause proven
    ================================================
    Remedied:             Probe pushed in further than the others, cylinder 3
    Confidence in cause:  almost certain, 97 %
    Readings after:       taken with the engine running
    Fault gone:           almost certain, 98 %
    Remaining difference: within normal (at most 0.4 × the usual scatter)
    Proof:                sure enough, and still gone at the run that verifies
    "#);
    let doc = crate::report::verify(&knowledge, &timeline, &sample::unverified());
    assert_snapshot!(plain(&doc), @r#"
    Not verified yet
    ================
    Remedied:             none entered
    Readings after:       none since the last work
    Fault gone:           unlikely, 5 %
    Remaining difference: within normal (at most 1.9 × the usual scatter)
    Proof:                none

    Still missing
      - No remedy was entered.
    "#);
}

#[test]
fn every_entry_has_a_line() {
    let knowledge = sample::knowledge();
    let found = |test: &str| What::Found {
        test: test.to_owned(),
        outcome: "deeper".to_owned(),
        cylinder: Some(3),
        partner: Some(2),
    };
    let remake = |item, new| What::Remake { item, cylinder: 3, new };
    let lines: Vec<String> = [
        found("look-fit"),
        found("not-there"),
        remake(Item::Probe, false),
        remake(Item::Probe, true),
        remake(Item::LeadAtBox, false),
        remake(Item::LeadAtBox, true),
        remake(Item::LeadAtProbe, true),
        What::Exchange { item: Item::LeadAtBox, a: 1, b: 4 },
        What::LoadConfirmed,
        What::Remedy { cause: "chan-error".to_owned(), place: Place::Cylinder(3) },
        What::Remedy { cause: "not-there".to_owned(), place: Place::Bank(2) },
        What::Recorded,
        What::Close { proven: false, reason: None },
        What::Reopen,
        What::Undo { entry: 2 },
    ]
    .iter()
    .map(|what| crate::report::entry_text(&knowledge, what, Scale::Celsius))
    .collect();
    assert_snapshot!(lines.join("\n"), @r#"
    look at the depth marks, cylinders 3 and 2: less stem outside than on the others
    not-there, cylinders 3 and 2: deeper
    re-seated the probe at cylinder 3
    fitted a known good probe at cylinder 3
    remade the lead of display 3 at the box
    plugged the lead of display 3 into a spare channel
    ran a known good lead to cylinder 3
    exchanged the leads of displays 1 and 4 at the box
    confirmed that running at load is safe here
    remedied: channel of the box reads wrong, display 3
    remedied: not-there, bank 2
    written down as normal for this engine
    closed without a proven cure
    opened again
    undid entry 2
    "#);
}

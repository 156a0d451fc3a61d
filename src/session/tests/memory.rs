//! What a session says of past jobs, and what it asks for a memory.

use super::bench::{Workshop, opened};
use facts::job::brief::Brief;
use judge::memory::Memory;

/// A job that came to a probe too deep on cylinder 3.
fn deep(name: &str) -> String {
    let job = opened("", "200 200 320 200 201 199").replace("Old boat", name);
    job + "Enter a test of my own\nLook at depth marks\ncylinder 3\nDone\nSits deeper\n\
           Enter a remedy\nProbe too deep, cylinder 3\nyes\n201 199 203 200 201 198\nTake the readings\n452 449 455 450 451 447\n\
           Close the job\n<esc>\nPut it away"
}

#[test]
fn readings_like_those_of_past_jobs_are_named_once_in_a_line() {
    let mut workshop = Workshop::new();
    workshop.session("04", &deep("First boat")).went_well();
    workshop.session("05", &format!("Start a new job\n{}", deep("Second boat"))).went_well();
    let answers = format!(
        "Start a new job\n{}Enter a test of my own\nLook at depth marks\ncylinder 2\nDone\n\
         All alike\nPut it away",
        opened("", "201 330 200 199 202 200")
    );
    let session = workshop.session("06", &answers);
    session.went_well().shows(&["Readings like these, twice before: probe too deep (2)."]);
    assert_eq!(session.transcript.matches("Readings like these").count(), 1);
    let other = format!("Start a new job\n{}Put it away", opened("", "200 90 200 199 202 200"));
    let session = workshop.session("07", &other);
    assert!(!session.went_well().transcript.contains("Readings like these"));
}

#[test]
fn a_memory_says_its_say_once_and_has_minutes_asked_for() {
    let mut workshop = Workshop::new();
    workshop.session("04", &deep("First boat")).went_well();
    let mut memory = Memory::default();
    memory.learn(&Brief::of(&workshop.jobs["first-boat"].borrow()));
    workshop.memory = Some(memory);
    let answers = format!(
        "Start a new job\n{}Enter a test of my own\nLook at depth marks\ncylinder 3\nDone\n\
         Sits deeper\nten\n700\n9,5\nPut it away",
        opened("", "200 200 320 200 201 199")
    );
    let session = workshop.session("05", &answers);
    session.went_well().shows(&[
        "The workshop's memory counts in: 1 job beside the knowledge base's",
        "probe too deep weighs ×1.",
        "? Hands-on minutes it took?",
        "! `ten`: expected minutes",
        "! 700 minutes for one piece of work: expected above 0, up to 600.",
        "Saved as entry 2",
    ]);
    assert_eq!(session.transcript.matches("memory counts in").count(), 1);
    let journal = workshop.jobs["old-boat"].borrow().clone();
    assert_eq!(journal.entries[1].minutes, Some(9.5));
    assert_eq!(journal.entries[1].typed, "found look-fit deeper --cylinder 3 --minutes 9.5");
}

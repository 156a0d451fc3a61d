//! The guided session on a real terminal of 80 by 24, without colour.
//!
//! Only the wiring is proved here; the session itself is tested with scripts. Each test waits
//! for text on the screen, never for a time; a wait that lasts too long shows the screen.

use std::io::{Read, Write};
use std::num::NonZero;
use std::path::Path;
use std::sync::mpsc::{Receiver, RecvTimeoutError, channel};
use std::time::Duration;

use portable_pty::{CommandBuilder, MasterPty, PtySize, native_pty_system};

const PATIENCE: Duration = Duration::from_secs(60);

struct Screen {
    parser: vt100::Parser,
    bytes: Receiver<Vec<u8>>,
    keys: Box<dyn Write + Send>,
    child: Box<dyn portable_pty::Child + Send + Sync>,
    _terminal: Box<dyn MasterPty + Send>,
}

impl Screen {
    fn start(jobs: &Path) -> Self {
        Self::start_with(jobs, &[])
    }

    fn start_with(jobs: &Path, words: &[&str]) -> Self {
        Self::sized(jobs, words, 24)
    }

    fn sized(jobs: &Path, words: &[&str], rows: u16) -> Self {
        let size = PtySize { rows, cols: 80, pixel_width: 0, pixel_height: 0 };
        let pair = native_pty_system().openpty(size).expect("a terminal");
        let mut command = CommandBuilder::new(env!("CARGO_BIN_EXE_oddpot"));
        command.env_clear();
        command.env("TZ", "UTC");
        command.env("TERM", "xterm");
        command.env("NO_COLOR", "1");
        command.args(words);
        command.args(["--jobs", &jobs.display().to_string()]);
        command.args(["--now", "2026-05-04T08:00:00Z"]);
        let child = pair.slave.spawn_command(command).expect("started");
        let mut reader = pair.master.try_clone_reader().expect("reader");
        let keys = pair.master.take_writer().expect("writer");
        let (sender, bytes) = channel();
        std::thread::spawn(move || {
            let mut buffer = [0; 4096];
            while let Ok(n @ 1..) = reader.read(&mut buffer) {
                if sender.send(buffer[..n].to_vec()).is_err() {
                    break;
                }
            }
        });
        let parser = vt100::Parser::new(
            NonZero::new(rows).expect("rows"),
            NonZero::new(80).expect("columns"),
            200,
        );
        Self { parser, bytes, keys, child, _terminal: pair.master }
    }

    fn text(&self) -> String {
        self.parser.screen().contents()
    }

    /// Waits until the screen shows a text.
    #[track_caller]
    fn shows(&mut self, wanted: &str) -> &mut Self {
        while !self.text().contains(wanted) {
            match self.bytes.recv_timeout(PATIENCE) {
                Ok(bytes) => self.parser.process(&bytes),
                Err(why) => panic!("`{wanted}` never came ({why}):\n{}", self.text()),
            }
        }
        self
    }

    fn type_in(&mut self, keys: &str) -> &mut Self {
        self.keys.write_all(keys.as_bytes()).expect("typed");
        self.keys.flush().expect("typed");
        self
    }

    /// Answers a question with a line, once it is asked.
    #[track_caller]
    fn answer(&mut self, question: &str, line: &str) -> &mut Self {
        self.shows(question).type_in(&format!("{line}\r"))
    }

    #[track_caller]
    fn ends(&mut self) -> u32 {
        loop {
            match self.bytes.recv_timeout(PATIENCE) {
                Ok(bytes) => self.parser.process(&bytes),
                Err(RecvTimeoutError::Disconnected) => break,
                Err(RecvTimeoutError::Timeout) => {
                    self.child.kill().expect("killed");
                    panic!("it did not end:\n{}", self.text());
                }
            }
        }
        self.child.wait().expect("ended").exit_code()
    }
}

fn opened(jobs: &Path) -> Screen {
    opened_on(Screen::start(jobs))
}

fn opened_on(mut screen: Screen) -> Screen {
    screen
        .answer("Which vehicle or engine?", "grey saloon")
        .answer("What is the complaint?", "reads high at idle")
        .answer("What engine is it?", "V6")
        .answer("What was done lately? Mark all that apply.", "");
    screen
}

#[test]
fn on_a_small_screen_nothing_scrolls_away_unread() {
    let jobs = tempfile::tempdir().expect("a folder");
    let mut screen = opened_on(Screen::sized(jobs.path(), &[], 18));
    screen
        .answer("how does the engine run?", "")
        .answer("Displays 1 to 6 at warm idle", "200 203 198 204 250 199")
        // The head of what is shown is there when the first stop is made.
        .shows("Enter goes on");
    assert!(screen.text().contains("grey saloon: reads high at idle"), "{}", screen.text());
    screen.type_in("\x03");
    assert_eq!(screen.ends(), 0, "{}", screen.text());
}

#[test]
fn numbers_are_typed_without_spaces_where_a_digit_more_can_only_be_the_next() {
    let jobs = tempfile::tempdir().expect("a folder");
    let mut screen = opened(jobs.path());
    screen
        .answer("how does the engine run?", "")
        .shows("Displays 1 to 6 at warm idle")
        .type_in("200203198204250199")
        // What is taken stands in the line before it is taken.
        .shows("200 203 198 204 250 199")
        .type_in("\r")
        .shows("Saved as entry 1: readings at warm idle: 200, 203, 198, 204, 250, 199 °C.");
    saved_and_left(&mut screen);
}

#[test]
fn a_job_is_opened_and_leaving_keeps_it() {
    let jobs = tempfile::tempdir().expect("a folder");
    let mut screen = opened(jobs.path());
    screen.shows("how does the engine run?").type_in("\x03");
    assert_eq!(screen.ends(), 0, "{}", screen.text());
    assert!(screen.text().contains("is kept"), "{}", screen.text());
    let kept = std::fs::read_to_string(jobs.path().join("grey-saloon.ron")).expect("kept");
    assert!(kept.contains("reads high at idle"), "{kept}");
    // The lines fit the terminal and nothing was coloured.
    assert!(screen.text().lines().all(|line| line.chars().count() <= 80));
}

/// A session that was given vehicle and complaint, and asks which engine it is.
fn asked_for_the_engine(jobs: &Path) -> Screen {
    let mut screen = Screen::start(jobs);
    screen
        .answer("Which vehicle or engine?", "grey saloon")
        .answer("What is the complaint?", "reads high")
        .shows("What engine is it?");
    screen
}

/// Who names an engine in another order finds it all the same.
#[test]
fn an_option_is_found_by_its_words_in_any_order() {
    let jobs = tempfile::tempdir().expect("a folder");
    let mut screen = asked_for_the_engine(jobs.path());
    screen
        .type_in("inline six diesel")
        .shows("> Six in line, diesel")
        .type_in("\r")
        .shows("What engine is it? Six in line, diesel")
        .type_in("\x03");
    assert_eq!(screen.ends(), 0, "{}", screen.text());
}

#[test]
fn esc_goes_one_question_back() {
    let jobs = tempfile::tempdir().expect("a folder");
    let mut screen = asked_for_the_engine(jobs.path());
    screen
        .type_in("\x1b")
        // Keys sent together with Esc would be one key, so the answer to it comes first.
        .shows("What engine is it? (back)")
        .shows("as: cylinder 3 reads high at idle")
        .type_in("\x03");
    assert_eq!(screen.ends(), 0, "{}", screen.text());
}

#[test]
fn a_wrong_line_is_corrected_and_the_recommendation_fits_the_screen() {
    let jobs = tempfile::tempdir().expect("a folder");
    let mut screen = opened(jobs.path());
    screen
        .answer("how does the engine run?", "")
        .answer("Displays 1 to 6 at warm idle", "200 203 hot 204 250 199")
        .shows("! `hot` is not a reading")
        // Keys that come before the line is back are the terminal's own.
        .shows("? Displays 1 to 6 at warm idle");
    // What was typed stands in the line to be corrected: take it out, type it anew.
    screen.type_in("\x15").type_in(&"\x7f".repeat(30)).type_in("200 203 198 204 250 199\r");
    // What is so far off and read once is read once more: an advice that needs no second screen.
    screen.shows("Saved as entry 1").shows("Next: take readings at warm idle");
    // Esc is no way past the menu: it goes on like Enter, and the menu stays.
    screen.shows("more?").type_in("\x1b");
    screen.shows("What now?").shows("Put it away for today");
    screen.type_in("\x03");
    assert_eq!(screen.ends(), 0, "{}", screen.text());
    assert!(screen.text().contains("with 1 entry"), "{}", screen.text());
    let kept = std::fs::read_to_string(jobs.path().join("grey-saloon.ron")).expect("kept");
    assert!(kept.contains("temps --at idle 200 203 198 204 250 199"), "{kept}");
}

#[test]
fn a_terminal_that_is_closed_loses_no_entry() {
    let jobs = tempfile::tempdir().expect("a folder");
    let mut screen = opened(jobs.path());
    screen
        .answer("how does the engine run?", "")
        .answer("Displays 1 to 6 at warm idle", "200 203 198 204 250 199");
    at_the_menu(&mut screen);
    screen.child.kill().expect("killed");
    drop(screen);
    // The lock went with the process: the job can be had again at once.
    let mut screen = Screen::start(jobs.path());
    screen.answer("Which job?", "").shows("Last entry, 1");
    screen.shows("How is the engine now?").type_in("\x03");
    assert_eq!(screen.ends(), 0, "{}", screen.text());
}

#[test]
fn without_a_terminal_it_says_what_to_type() {
    let output = std::process::Command::new(env!("CARGO_BIN_EXE_oddpot"))
        .env_clear()
        .env("TZ", "UTC")
        .stdin(std::process::Stdio::null())
        .output()
        .expect("run");
    assert_eq!(output.status.code(), Some(0));
    assert!(String::from_utf8_lossy(&output.stdout).contains("oddpot open JOB"));
    assert!(output.stderr.is_empty());
}

/// Goes on to the menu once the first set is saved.
fn at_the_menu(screen: &mut Screen) {
    screen.shows("Saved as entry 1").answer("more?", "").shows("What now?");
}

/// The same, and leaves the session there.
fn saved_and_left(screen: &mut Screen) {
    at_the_menu(screen);
    screen.type_in("\x03");
    assert_eq!(screen.ends(), 0, "{}", screen.text());
}

#[test]
fn a_line_is_edited_with_the_keys_of_a_shell() {
    let jobs = tempfile::tempdir().expect("a folder");
    let mut screen = opened(jobs.path());
    screen
        .answer("how does the engine run?", "")
        // Ctrl-W takes a word, Ctrl-A and Ctrl-E go to the ends, Ctrl-K and Ctrl-U cut.
        .answer(
            "Displays 1 to 6 at warm idle",
            "20 203 198 204 250 hot\x17199\x01\x1b[C\x1b[C0\x05",
        );
    saved_and_left(&mut screen);
    let kept = std::fs::read_to_string(jobs.path().join("grey-saloon.ron")).expect("kept");
    assert!(kept.contains("temps --at idle 200 203 198 204 250 199"), "{kept}");
}

#[test]
fn a_wrong_line_comes_back_and_is_cut_with_one_key() {
    let jobs = tempfile::tempdir().expect("a folder");
    let mut screen = opened(jobs.path());
    screen
        .answer("how does the engine run?", "")
        .answer("Displays 1 to 6 at warm idle", "200 203 hot 204 250 199")
        .shows("! `hot` is not a reading")
        // Keys that come before the line is back are the terminal's own.
        .shows("? Displays 1 to 6 at warm idle");
    screen.type_in("\x15x\x01\x0b200 203 198 204 250 199\r");
    saved_and_left(&mut screen);
}

#[test]
fn a_commissioning_is_asked_and_goes_on_after_it_was_broken_off() {
    let jobs = tempfile::tempdir().expect("a folder");
    let mut screen = Screen::start_with(jobs.path(), &["commission"]);
    screen
        .answer("Which vehicle or engine?", "grey launch")
        .answer("What engine is it?", "Four in line, port")
        .answer("The builder's limit", "")
        .answer("What was done lately? Mark all that apply.", "")
        .answer("How is the engine now?", "cold soaked")
        .answer("more?", "")
        .shows("Do it: which display is whose")
        .answer("What now?", "")
        .answer("What did it show on cylinder 1?", "")
        .shows("What did it show on cylinder 2?")
        .type_in("\x03");
    assert_eq!(screen.ends(), 0, "{}", screen.text());
    assert!(screen.text().contains("commission"), "{}", screen.text());
    let mut screen = Screen::start_with(jobs.path(), &["commission"]);
    screen
        .answer("Which job?", "")
        .answer("How is the engine now?", "cold soaked")
        .shows("its display rise on cylinder 2")
        .answer("more?", "")
        .shows("Do it: which display is whose");
    assert!(screen.text().lines().all(|line| line.chars().count() <= 80));
    screen.type_in("\x03");
    assert_eq!(screen.ends(), 0, "{}", screen.text());
}

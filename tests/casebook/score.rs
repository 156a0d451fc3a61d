//! Whether a play ended rightly, and the table of all plays.
//!
//! Right is what the case says is right. It must not ask the program for its opinion.

use std::fmt::Write as _;
use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering};

use crate::answers::Answers;
use crate::case::Case;
use crate::play::{End, Manner, Play};
use crate::player::play;

/// Three natural spreads of a plenum engine, °C: what nobody may call normal.
const NOTICEABLE: f64 = 36.0;

/// A play, judged.
#[expect(clippy::struct_excessive_bools, reason = "each a column of the table")]
struct Judged {
    case: String,
    families: Vec<String>,
    manner: Manner,
    play: Play,
    right: bool,
    /// Right as not found, the engine being sound and three spreads off.
    uneven: bool,
    false_proof: bool,
    false_normal: bool,
    never: Vec<String>,
    over_best: f64,
    no_stop: bool,
}

/// All plays.
pub(crate) struct Table {
    rows: Vec<Judged>,
}

fn judge(case: &Case, manner: Manner, play: Play, answers: &Answers) -> Judged {
    let ends = |word: &str| case.ends.iter().any(|e| e == word);
    let proven_right = play
        .proven
        .as_ref()
        .is_some_and(|proven| play.cures.iter().any(|cure| answers.alike(cure, proven)));
    let false_proof = play.end == End::Proven && (play.left > 0.0 || !proven_right);
    let false_normal = play.end == End::Normal && play.left >= NOTICEABLE;
    let never: Vec<String> = play
        .steps
        .iter()
        .filter(|step| case.never.iter().any(|never| step.starts_with(never.as_str())))
        .cloned()
        .collect();
    let no_stop = case.must_stop && play.saw_heat && !play.stop_said;
    // A sound engine that stands three spreads off may not be called normal: that is said of it.
    let uneven = play.end == End::NotFound && ends("normal") && case.is_uneven();
    let right = (ends(play.end.word()) || uneven) && !false_proof && !false_normal && !no_stop;
    Judged {
        case: case.name.clone(),
        families: case.families.clone(),
        manner,
        over_best: play.hands_on / case.best.hands_on_min.max(1.0),
        play,
        right,
        uneven,
        false_proof,
        false_normal,
        never,
        no_stop,
    }
}

/// Plays every case in every manner, on as many workers as there are processors.
pub(crate) fn table(cases: &[Case], answers: &Answers, manners: &[Manner]) -> Table {
    let jobs: Vec<(&Case, Manner)> =
        cases.iter().flat_map(|case| manners.iter().map(move |m| (case, *m))).collect();
    let next = AtomicUsize::new(0);
    let rows = Mutex::new(Vec::new());
    let workers = std::thread::available_parallelism().map_or(1, usize::from);
    std::thread::scope(|scope| {
        for _ in 0..workers {
            scope.spawn(|| {
                while let Some(&(case, manner)) = jobs.get(next.fetch_add(1, Ordering::Relaxed)) {
                    let judged = judge(case, manner, play(case, manner, answers), answers);
                    rows.lock().expect("no worker failed").push(judged);
                }
            });
        }
    });
    let mut rows = rows.into_inner().expect("no worker failed");
    rows.sort_by(|a, b| (&a.case, a.manner).cmp(&(&b.case, b.manner)));
    Table { rows }
}

impl Table {
    pub(crate) fn text(&self) -> String {
        let mut out = String::from(
            "case | manner | end | right | min | over best | sound parts | exchanged | load | repeats | remarks\n",
        );
        for row in &self.rows {
            let play = &row.play;
            let mut remarks = Vec::new();
            for (so, word) in [
                (row.false_proof, "FALSE PROOF"),
                (row.false_normal, "FALSE NORMAL"),
                (row.no_stop, "no STOP"),
                (!row.never.is_empty(), "never"),
            ] {
                if so {
                    remarks.push(word.to_owned());
                }
            }
            remarks.extend(play.proven.clone());
            remarks.extend((!play.refusal.is_empty()).then(|| play.refusal.clone()));
            let _ = writeln!(
                out,
                "{} | {:?} | {} | {} | {:.0} | {:.1} | {} | {} | {} | {} | {}",
                row.case,
                row.manner,
                play.end.word(),
                if row.right { "yes" } else { "NO" },
                play.hands_on,
                row.over_best,
                play.sound_parts,
                if play.left_exchanged { "yes" } else { "" },
                play.load_breaks,
                play.repeats,
                remarks.join("; ")
            );
        }
        out.push_str(&self.sums());
        out
    }

    fn sums(&self) -> String {
        let count = |f: &dyn Fn(&Judged) -> bool| self.rows.iter().filter(|r| f(r)).count();
        let all = self.rows.len();
        let mut over: Vec<f64> = self.rows.iter().map(|r| r.over_best).collect();
        over.sort_by(f64::total_cmp);
        let median = over.get(all / 2).copied().unwrap_or(0.0);
        let mut out = format!(
            "\n{} of {all} plays end right ({} of these as not found, sound and three spreads off); false proof {}, normal with a fault {}, sound engine parts {}, left \
             exchanged unsaid {}, load-rule breaks {}, repeats {}, steps never right {}, STOP missing {}, endless {}, \
             refused {}, not found {}; minutes over best path: median {median:.2}, over three {}\n",
            count(&|r| r.right),
            count(&|r| r.uneven),
            count(&|r| r.false_proof),
            count(&|r| r.false_normal),
            self.rows.iter().map(|r| r.play.sound_parts).sum::<usize>(),
            count(&|r| r.play.left_exchanged),
            self.rows.iter().map(|r| r.play.load_breaks).sum::<usize>(),
            self.rows.iter().map(|r| r.play.repeats).sum::<usize>(),
            self.rows.iter().map(|r| r.never.len()).sum::<usize>(),
            count(&|r| r.no_stop),
            count(&|r| r.play.end == End::Endless),
            count(&|r| r.play.end == End::Refused),
            count(&|r| r.play.end == End::NotFound),
            count(&|r| r.over_best > 3.0),
        );
        let mut families: Vec<&String> = self.rows.iter().flat_map(|r| &r.families).collect();
        families.sort_unstable();
        families.dedup();
        for family in families {
            let own = |r: &&Judged| r.families.contains(family);
            let n = self.rows.iter().filter(own).count();
            let right = self.rows.iter().filter(own).filter(|r| r.right).count();
            let _ = writeln!(out, "{family}: {right} of {n}");
        }
        for manner in Manner::ALL {
            let own = |r: &&Judged| r.manner == manner;
            let n = self.rows.iter().filter(own).count();
            let right = self.rows.iter().filter(own).filter(|r| r.right).count();
            let _ = writeln!(out, "{manner:?}: {right} of {n}");
        }
        out
    }

    /// Every play must end rightly.
    pub(crate) fn hold(&self) {
        let wrong: Vec<String> = self
            .rows
            .iter()
            .filter(|r| !r.right || r.play.load_breaks > 0 || r.play.left_exchanged)
            .map(|r| format!("{} {:?}", r.case, r.manner))
            .collect();
        assert!(wrong.is_empty(), "ended wrongly: {}", wrong.join(", "));
        assert!(!self.rows.is_empty(), "no case was played");
    }
}

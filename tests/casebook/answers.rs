//! What the program's own lists say: its tests and their outcomes, its causes and what is done about them.
//!
//! A player needs it to answer as a healthy engine does. It must not hold a weight or a chance of a cause.

use std::collections::BTreeMap;
use std::path::PathBuf;
use std::process::Command;

use serde_json::Value;

/// The knowledge a player takes from the program: what a healthy engine answers.
pub(crate) struct Answers {
    /// Outcomes of each test, and which is the usual one.
    pub(crate) tests: BTreeMap<String, (Vec<String>, usize)>,
    seats: BTreeMap<String, String>,
    /// What is done about a cause.
    work: BTreeMap<String, String>,
}

pub(crate) fn binary() -> PathBuf {
    std::env::var_os("ODDPOT_BIN")
        .map_or_else(|| env!("CARGO_BIN_EXE_oddpot").into(), PathBuf::from)
}

impl Answers {
    pub(crate) fn ask() -> Self {
        let out = Command::new(binary())
            .args(["knowledge", "list", "--json"])
            .output()
            .expect("the program runs");
        let list: Value = serde_json::from_slice(&out.stdout).expect("JSON");
        let text = |v: &Value| v.as_str().unwrap_or_default().to_owned();
        let tests = list["tests"].as_array().expect("tests").iter().map(|test| {
            let outcomes: Vec<String> =
                test["outcomes"].as_array().expect("outcomes").iter().map(text).collect();
            let chances: Vec<f64> = test["default"]
                .as_array()
                .map_or_else(Vec::new, |d| d.iter().filter_map(Value::as_f64).collect());
            let usual = (0..chances.len()).max_by(|a, b| chances[*a].total_cmp(&chances[*b]));
            // Of what has been a customer who is not said to know anything knows nothing.
            let asked = outcomes.iter().position(|o| test["id"] == "history" && o == "unknown");
            (text(&test["id"]), (outcomes, asked.or(usual).unwrap_or(0)))
        });
        let causes = || list["causes"].as_array().expect("causes").iter();
        Self {
            tests: tests.collect(),
            seats: causes().map(|c| (text(&c["id"]), text(&c["seat"]))).collect(),
            work: causes().map(|c| (text(&c["id"]), text(&c["remedy"]["id"]))).collect(),
        }
    }

    pub(crate) fn has_test(&self, test: &str) -> bool {
        self.tests.contains_key(test)
    }

    pub(crate) fn has_outcome(&self, test: &str, outcome: &str) -> bool {
        self.tests.get(test).is_some_and(|(outcomes, _)| outcomes.iter().any(|o| o == outcome))
    }

    pub(crate) fn has_cause(&self, cause: &str) -> bool {
        self.seats.contains_key(cause)
    }

    /// Causes that the same work cures.
    pub(crate) fn same_work(&self, cause: &str) -> Vec<String> {
        let own = self.work.get(cause).cloned().unwrap_or_default();
        let alike =
            self.work.iter().filter(|(id, work)| *id == cause || !own.is_empty() && **work == own);
        alike.map(|(id, _)| id.clone()).collect()
    }

    /// Whether two faults, as they are typed, are put right by the same work at one place.
    pub(crate) fn alike(&self, a: &str, b: &str) -> bool {
        let parts = |s: &str| {
            let (id, at) = s.split_once('@').unwrap_or((s, ""));
            (id.to_owned(), at.to_owned())
        };
        let ((a, at), (b, other)) = (parts(a), parts(b));
        at == other && self.same_work(&a).contains(&b)
    }

    pub(crate) fn of_the_engine(&self, cause: &str) -> bool {
        let chain = ["probe", "fit", "lead", "channel", "settings", "none", "nothing"];
        self.seats.get(cause).is_some_and(|seat| !chain.contains(&seat.as_str()))
    }
}

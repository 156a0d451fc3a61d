//! Runs the program in a cleared environment and a folder of its own.

use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use serde_json::Value;
use tempfile::TempDir;

/// A folder for one test.
pub(crate) struct Bench {
    folder: TempDir,
}

/// What a run gave, paths of the folder written as `FOLDER`.
#[derive(Debug)]
pub(crate) struct Run {
    args: Vec<String>,
    pub(crate) out: String,
    pub(crate) err: String,
    pub(crate) status: i32,
}

/// The words of a line, where quotes hold several together.
pub(crate) fn words(line: &str) -> Vec<String> {
    let mut words = Vec::new();
    for (index, piece) in line.split('\'').enumerate() {
        if index % 2 == 1 {
            words.push(piece.to_owned());
        } else {
            words.extend(piece.split_whitespace().map(str::to_owned));
        }
    }
    words
}

/// A bench with a job `van` that was opened warm so, and these lines entered.
pub(crate) fn bench(open: &str, lines: &[&str]) -> Bench {
    let bench = Bench::new();
    bench.run(&format!("open van {open} --state warm")).succeeds();
    for line in lines {
        bench.run(line).succeeds();
    }
    bench
}

/// What `next` says of `van`.
pub(crate) fn next(bench: &Bench) -> Value {
    bench.run("next van --json").document(0)
}

impl Bench {
    /// How probable a cause at a cylinder is in a job; nought for one that is no suspect.
    pub(crate) fn probability(&self, job: &str, id: &str, cylinder: u64) -> f64 {
        let document = self.run(&format!("suspects {job} --json")).document(0);
        let causes = document["causes"].as_array().expect("a list");
        let of = |c: &&Value| c["id"] == id && c["cylinder"] == cylinder;
        causes.iter().find(of).map_or(0.0, |c| c["probability"].as_f64().expect("a probability"))
    }

    pub(crate) fn new() -> Self {
        let folder = tempfile::tempdir().expect("a folder");
        std::fs::create_dir(folder.path().join("jobs")).expect("a store");
        Self { folder }
    }

    /// A bench with a job `van`: a four with port injection and wasted spark.
    pub(crate) fn with_van() -> Self {
        let bench = Self::new();
        bench.run("open van --cylinders 4 --ignition wasted-spark --state warm").succeeds();
        bench
    }

    pub(crate) fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    /// The file of a job in the store.
    pub(crate) fn job(&self, name: &str) -> PathBuf {
        self.path("jobs").join(format!("{name}.ron"))
    }

    pub(crate) fn read(path: &Path) -> String {
        std::fs::read_to_string(path).expect("readable")
    }

    pub(crate) fn write(&self, name: &str, text: &str) {
        std::fs::write(self.path(name), text).expect("writable");
    }

    /// The program, in the folder, with nothing of the surroundings.
    pub(crate) fn command(&self) -> Command {
        let mut command = Command::new(env!("CARGO_BIN_EXE_oddpot"));
        command
            .env_clear()
            .env("TZ", "UTC")
            .current_dir(self.folder.path())
            .stdin(Stdio::null())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped());
        command
    }

    /// Runs words parted by spaces, with the store in the folder and a fixed clock.
    pub(crate) fn run(&self, line: &str) -> Run {
        let args: Vec<&str> = line.split_whitespace().collect();
        self.run_args(&args)
    }

    pub(crate) fn run_args(&self, args: &[&str]) -> Run {
        let fixed = ["--jobs", "jobs", "--now", "2026-03-02T08:00:00Z"];
        self.bare(&[args, &fixed].concat())
    }

    /// Runs exactly these arguments.
    pub(crate) fn bare(&self, args: &[&str]) -> Run {
        let output = self.command().args(args).output().expect("it runs");
        let folder = self.folder.path().display().to_string();
        let text = |bytes: Vec<u8>| {
            let text = String::from_utf8(bytes).expect("text");
            text.replace(&folder, "FOLDER")
        };
        Run {
            args: args.iter().map(|&a| a.to_owned()).collect(),
            out: text(output.stdout),
            err: text(output.stderr),
            status: output.status.code().expect("a status"),
        }
    }
}

impl Run {
    /// All three at once.
    #[track_caller]
    pub(crate) fn gives(&self, status: i32, out: &str, err: &str) {
        let expected = (status, out, err);
        let found = (self.status, self.out.as_str(), self.err.as_str());
        assert_eq!(found, expected, "{:?}", self.args);
    }

    /// Status 0, whatever was said.
    #[track_caller]
    pub(crate) fn succeeds(&self) {
        assert_eq!(self.status, 0, "{:?}\n{}", self.args, self.err);
    }

    /// A failure: nothing on standard output, standard error as given.
    #[track_caller]
    pub(crate) fn fails(&self, status: i32, err: &str) {
        self.gives(status, "", err);
    }

    /// The one document on standard output; nothing on standard error.
    #[track_caller]
    pub(crate) fn document(&self, status: i32) -> Value {
        assert_eq!((self.status, &*self.err), (status, ""), "{:?}", self.args);
        serde_json::from_str(&self.out).expect("one document")
    }
}

/// What an advice gives for no fault showing.
pub(crate) fn sound(next: &Value) -> f64 {
    next["sound"].as_f64().expect("a probability")
}

//! Files from strangers: whatever stands in them, no terminal, browser or spreadsheet obeys it, no
//! name or link leads out of the store, and no size or depth brings the program down.

use std::fs;
use std::path::Path;
use std::process::{Command, Output, Stdio};

use tempfile::TempDir;

/// What a terminal, a browser, Markdown, a graph program and a spreadsheet would each obey.
const NASTY: &str = "\u{1b}]0;title\u{7}\u{1b}[2J\u{1b}[8m\u{9b}31m\u{202e}\u{200b}\r\u{8}<script>alert(1)</script>\
    <img src=x onerror=alert(2)>|[x](http://y.z)`*_#\"]; evil [label=x]\\N=cmd|' /C calc'!A0";

/// The same as a string of RON.
fn ron(text: &str) -> String {
    let mut out = String::from("\"");
    for c in text.chars() {
        match c {
            '"' | '\\' => out.extend(['\\', c]),
            // As they are: a file may well hold them so.
            c => out.push(c),
        }
    }
    out.push('"');
    out
}

struct Bench(TempDir);

impl Bench {
    fn new() -> Self {
        let folder = tempfile::tempdir().expect("a folder");
        fs::create_dir(folder.path().join("jobs")).expect("a store");
        Self(folder)
    }

    fn path(&self) -> &Path {
        self.0.path()
    }

    fn write(&self, name: &str, bytes: impl AsRef<[u8]>) {
        let path = self.path().join(name);
        fs::create_dir_all(path.parent().expect("a folder")).expect("made");
        fs::write(path, bytes).expect("written");
    }

    /// Runs as on a terminal that takes every style and escape.
    fn run(&self, args: &[&str]) -> Output {
        Command::new(env!("CARGO_BIN_EXE_oddpot"))
            .env_clear()
            .env("CLICOLOR_FORCE", "1")
            .current_dir(self.path())
            .args(["--jobs", "jobs"])
            .args(args)
            .stdin(Stdio::null())
            .output()
            .expect("it runs")
    }

    /// Runs, and looks at everything that came out; gives the status.
    fn harmless(&self, args: &[&str]) -> i32 {
        let output = self.run(args);
        for bytes in [&output.stdout, &output.stderr] {
            look_through(&String::from_utf8_lossy(bytes), args);
        }
        output.status.code().unwrap_or_else(|| panic!("{args:?} ended by a signal"))
    }
}

/// That nothing but line ends, tabs and our styles could be obeyed by a terminal.
fn look_through(text: &str, of: &[&str]) {
    let mut rest = text;
    while let Some(at) = rest.find(obeyed) {
        let behind = &rest[at..];
        let style = behind.strip_prefix("\u{1b}[").and_then(|inner| {
            let end = inner.find(|c: char| !c.is_ascii_digit() && c != ';')?;
            (inner[end..].starts_with('m') && !inner[..end].split(';').any(|n| n == "8"))
                .then_some(end)
        });
        let Some(end) = style else {
            let piece: String = behind.chars().take(30).collect();
            panic!("{of:?} put out {piece:?}");
        };
        rest = &behind[2 + end + 1..];
    }
}

fn obeyed(c: char) -> bool {
    c.is_control() && !matches!(c, '\n' | '\t')
        || matches!(c, '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}' | '\u{200b}'..='\u{200f}')
}

fn hostile_job() -> String {
    let nasty = ron(NASTY);
    let short = ron(&NASTY.chars().take(40).collect::<String>());
    format!(
        r#"(
  format: 2,
  head: (
    opened: "2026-03-02T08:00:00Z", typed: {nasty}, vehicle: {nasty}, complaint: {nasty},
    engine_name: {nasty},
    engine: (
      cylinders: 4, layout: "inline", banks: [[1, 2, 3, 4]], firing_order: [1, 3, 4, 2],
      fuel: "port", ignition: "wasted-spark", intake: "plenum", induction: "natural",
      cooling: "liquid", probes: "exhaust", probe_type: "K", depth: "stays", trims: true,
      mixture: (idle: 1.0, cruise: 1.0, full: 1.15),
    ),
    recent: [{nasty}], state: "warm",
  ),
  entries: [
    (time: "2026-03-02T08:00:00Z", typed: {nasty}, what: Temps(at: "idle", site: "exhaust",
      readings: [Degrees(498.0), Degrees(611.0), Degrees(503.0), Degrees(500.0)],
      from: (file: {nasty}, sha256: {nasty}, from: 1.0, to: 60.0, errors: [None, None, None, None]))),
    (time: "2026-03-02T08:01:00Z", typed: {nasty}, what: Found(test: {nasty}, outcome: {nasty}, cylinder: 1, partner: None)),
    (time: "2026-03-02T08:02:00Z", typed: {nasty}, what: Fitted(lines: [(2, (probe: {short}, serial: {short}, lead: {short}, channel: {short}))])),
    (time: "2026-03-02T08:03:00Z", typed: {nasty}, what: Remedy(cause: {nasty}, place: Cylinder(2))),
    (time: "2026-03-02T08:04:00Z", typed: {nasty}, what: Logged(test: {nasty}, outcome: {nasty}, cylinder: 1)),
  ],
)
"#
    )
}

/// Commands that only look at a job.
const LOOKS: [&[&str]; 9] = [
    &["journal", "van"],
    &["suspects", "van"],
    &["next", "van"],
    &["verify", "van"],
    &["fit", "van"],
    &["why", "van", "lead-reversed@2"],
    &["card", "van"],
    &["jobs"],
    &["knowledge", "draw", "--job", "van", "--format", "text"],
];

#[test]
fn nothing_in_a_job_is_obeyed() {
    let bench = Bench::new();
    bench.write("jobs/van.ron", hostile_job());
    for look in LOOKS {
        let status = bench.harmless(look);
        assert!(status < 2, "{look:?} ended with {status}");
        bench.harmless(&[look, &["--json"]].concat());
    }
    // What enters something says it back.
    for enter in [["state", "van", "cold"], ["undo", "van", "--json"]] {
        assert_eq!(bench.harmless(&enter), 0, "{enter:?}");
    }
    // A damaged file is quoted.
    let damaged = hostile_job().replacen("Remedy(", "Remedied(", 1);
    bench.write("jobs/torn.ron", damaged);
    for look in [["journal", "torn"], ["mend", "torn"], ["journal", "torn-mended"]] {
        bench.harmless(&look);
        bench.harmless(&[&look[..], &["--json"]].concat());
    }
    // Names that are typed come back in messages.
    for odd in [["journal", NASTY], ["why", NASTY], ["found", NASTY], ["state", NASTY]] {
        assert!(bench.harmless(&odd) > 1, "{odd:?}");
        bench.harmless(&[&odd[..], &["--json"]].concat());
    }
}

#[test]
fn pages_for_a_browser_and_a_reader_of_markdown_hold_text_only() {
    let bench = Bench::new();
    bench.write("jobs/van.ron", hostile_job());
    for page in ["card", "fit"] {
        for form in ["html", "md", "pdf", "text"] {
            let file = format!("{page}.{form}");
            let status = bench.harmless(&[page, "van", "--format", form, "-o", &file]);
            assert_eq!(status, 0, "{file}");
            let bytes = fs::read(bench.path().join(&file)).expect("written");
            let text = String::from_utf8_lossy(&bytes);
            if form != "pdf" {
                look_through(&text, &[&file]);
            }
            // A tag or a link of the stranger's is text, which in Markdown and HTML is escaped.
            for tag in ["<script", "<img"] {
                assert!(form == "text" || !text.contains(tag), "{tag} in {file}");
            }
            assert!(form != "md" || !text.contains("](http:"), "a link in {file}");
        }
    }
}

#[test]
fn nothing_in_own_knowledge_is_obeyed() {
    let bench = Bench::new();
    let nasty = ron(NASTY);
    let causes = include_str!("../fixtures/formats/knowledge-1/causes/own.ron")
        .replace("\"own cause, invented\"", &nasty)
        .replace("\"A cause that only this file knows.\"", &nasty)
        .replace("\"Put it right.\"", &nasty);
    bench.write("own/causes/own.ron", causes);
    let groups = include_str!("../fixtures/formats/knowledge-1/groups.ron")
        .replace("\"own kinds of fault\"", &nasty);
    bench.write("own/groups.ron", groups);
    bench.write("jobs/van.ron", include_str!("../fixtures/formats/job-1.ron"));
    let own = ["--knowledge", "own"];
    let asked: [&[&str]; 8] = [
        &["knowledge", "check"],
        &["knowledge", "list"],
        &["knowledge", "show", "own-cause"],
        &["knowledge", "draw", "own"],
        &["knowledge", "draw", "own", "--format", "svg"],
        &["knowledge", "draw", "own", "--format", "text"],
        &["why", "van", "own-cause@2"],
        &["suspects", "van"],
    ];
    for args in asked {
        assert_eq!(bench.harmless(&[args, &own].concat()), 0, "{args:?}");
        bench.harmless(&[args, &own, &["--json"]].concat());
    }
    let dot =
        String::from_utf8(bench.run(&[&["knowledge", "draw", "own"], &own[..]].concat()).stdout);
    assert!(!dot.expect("text").contains("evil [label"));
    let svg = &["knowledge", "draw", "own", "--format", "svg"];
    let svg = String::from_utf8(bench.run(&[&svg[..], &own].concat()).stdout).expect("text");
    assert!(svg.contains("&lt;script") && !svg.contains("<script"), "{svg}");
    // What is wrong is shown with the line it stands in.
    bench.write("own/tests/odd.ron", format!("(tests: [(id: {nasty}, {NASTY}"));
    bench.write("own/cautions.ron", format!("(cautions: [({nasty}, {nasty}, practice)])"));
    for args in [&["knowledge", "check"][..], &["suspects", "van"]] {
        assert!(bench.harmless(&[args, &own].concat()) > 0, "{args:?}");
        bench.harmless(&[args, &own, &["--json"]].concat());
    }
}

#[test]
fn nothing_in_a_log_is_obeyed() {
    let bench = Bench::new();
    let quoted = format!("\"{}\"", NASTY.replace('"', "\"\""));
    let mut log = format!("time s,EGT 1 {quoted},{quoted},EGT 3,rpm\n").replace(" \"", " ");
    let lines: Vec<String> =
        (0..60).map(|second| format!("{second},600.{},598,610,3000\n", second % 10)).collect();
    log.push_str(&lines.concat());
    log.push_str(&["61,", NASTY, ",1,2,3\n"].concat());
    bench.write("run.csv", &log);
    bench.write("plain.csv", log.replace(NASTY, "x"));
    for file in ["run.csv", "plain.csv"] {
        for more in [&[][..], &["--json"], &["--format", "html"], &["--format", "md"]] {
            let status = bench.harmless(&[&["log", file], more].concat());
            assert!(status < 3, "{file} {more:?}");
        }
        let given = ["--display", "1=2", "--display", "2=3", "--display", "3=4", "--time", "1"];
        bench.harmless(&[&["log", file], &given[..]].concat());
    }
}

#[test]
fn no_name_and_no_link_leads_out_of_the_store() {
    let bench = Bench::new();
    bench.write("secret.ron", include_str!("../fixtures/formats/job-1.ron"));
    for name in ["..", "../secret\0", ".secret", "a:b", "con\n", "~", "$HOME", "*"] {
        if name.contains('\0') {
            continue;
        }
        assert!(bench.harmless(&["open", name, "--cylinders", "4"]) > 1, "{name:?}");
    }
    assert_eq!(fs::read_dir(bench.path().join("jobs")).expect("store").count(), 0);
    #[cfg(unix)]
    {
        let before = fs::read(bench.path().join("secret.ron")).expect("read");
        let link = |to: &str, name: &str| {
            std::os::unix::fs::symlink(to, bench.path().join("jobs").join(name)).expect("link");
        };
        link("../secret.ron", "out.ron");
        link("in.ron", "in.ron");
        link("/dev/zero", "zero.ron");
        for args in [
            &["journal", "out"][..],
            &["state", "out", "cold"],
            &["undo", "out"],
            &["mend", "out"],
            &["journal", "in"],
            &["journal", "zero"],
            &["open", "out", "--cylinders", "4"],
        ] {
            assert!(bench.harmless(args) > 1, "{args:?}");
        }
        let listed = String::from_utf8(bench.run(&["jobs"]).stdout).expect("text");
        assert!(!listed.contains("invented van"), "{listed}");
        assert_eq!(fs::read(bench.path().join("secret.ron")).expect("read"), before);
    }
}

#[test]
fn neither_depth_nor_size_brings_it_down() {
    let bench = Bench::new();
    let deep = |open: &str, close: &str| format!("{}{}", open.repeat(50_000), close.repeat(50_000));
    let texts = [
        deep("(", ")"),
        deep("[", "]"),
        deep("Some(", ")"),
        format!("(format: 1, head: {}", deep("{", "}")),
        format!("(format: 1, head: (typed: \"{}", "x".repeat(1_000_000)),
        format!("(format: 1, entries: [{}", "(),".repeat(100_000)),
        format!("(format: {}", "9".repeat(100_000)),
        "/*".repeat(100_000),
        "\0".repeat(200_000),
        "(causes: [".to_owned() + &deep("(effects: [", "])"),
    ];
    for text in &texts {
        bench.write("jobs/deep.ron", text);
        bench.write("own/causes/deep.ron", text);
        bench.write("engine.ron", text);
        assert!(bench.harmless(&["journal", "deep"]) > 1);
        assert!(bench.harmless(&["mend", "deep"]) > 0);
        assert!(bench.harmless(&["knowledge", "check", "--knowledge", "own"]) > 0);
        assert!(bench.harmless(&["open", "x", "--engine", "engine.ron"]) > 1);
        bench.harmless(&["log", "engine.ron"]);
        bench.harmless(&["--answers", "engine.ron"]);
    }
    // Sparse, so that it takes no room here.
    let large = fs::File::create(bench.path().join("jobs/large.ron")).expect("made");
    large.set_len(1 << 34).expect("sparse");
    assert_eq!(bench.harmless(&["journal", "large"]), 3);
    fs::rename(bench.path().join("jobs/large.ron"), bench.path().join("own/causes/large.ron"))
        .expect("moved");
    assert_eq!(bench.harmless(&["knowledge", "check", "--knowledge", "own"]), 3);
    // Logs may be as long as they like, lines may not, and columns are counted.
    bench.write("line.csv", "t,".to_owned() + &"1;".repeat(1_000_000));
    assert_eq!(bench.harmless(&["log", "line.csv"]), 2);
    let names: Vec<String> = (0..50_000).map(|n| format!("c{n}")).collect();
    bench.write("wide.csv", format!("{},\n{}\n", names.join(","), "1,".repeat(50_000)));
    assert_eq!(bench.harmless(&["log", "wide.csv"]), 2);
    bench.write("quotes.csv", "\"".repeat(1_500_001));
    assert_eq!(bench.harmless(&["log", "quotes.csv"]), 2);
}

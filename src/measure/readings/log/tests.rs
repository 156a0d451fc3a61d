//! Whole logs, from bytes to windows: good ones, and every way of being bad.
#![expect(clippy::cast_precision_loss, clippy::format_collect, reason = "small invented logs")]

use std::fmt::Write as _;
use std::io;

use super::*;

/// Three displays, `noise` apart from a course of their own; speed and load held.
fn log_of(seconds: u32, per_second: u32, display: impl Fn(usize, f64) -> f64) -> String {
    let mut text = String::from("Time [s],Speed [rpm],Load [%],EGT 1 [°C],EGT 2 [°C],EGT 3 [°C]\n");
    for i in 0..seconds * per_second {
        let t = f64::from(i) / f64::from(per_second);
        let _ = write!(text, "{t:.3},1500,40.0");
        for d in 0..3 {
            let _ = write!(text, ",{:.1}", display(d, t));
        }
        text.push('\n');
    }
    text
}

/// Unordered steps between −1 and 1, the same each time.
fn shake(seed: f64) -> f64 {
    ((seed * 12.9898).sin() * 43_758.547).fract()
}

fn still(display: usize, t: f64) -> f64 {
    [400.0, 410.0, 350.0][display] + 0.5 * shake(t + 1000.0 * display as f64)
}

fn read_with(bytes: &[u8], options: &Options) -> Result<Log, LogError> {
    read(bytes, options, &mut |_| {})
}

#[track_caller]
fn good(text: &str) -> Log {
    read_with(text.as_bytes(), &Options::default()).expect("readable")
}

#[track_caller]
fn refused(bytes: &[u8]) -> String {
    read_with(bytes, &Options::default()).expect_err("refused").to_string()
}

/// Kind, line and count of what was found, guesses and missing speed aside.
fn codes(log: &Log) -> Vec<(Code, u64, u64)> {
    log.findings.iter().map(|f| (f.code, f.line, f.count)).collect()
}

/// The same figures by the slowest means: all rows, sorted.
fn slow(text: &str, column: usize, from: f64, to: f64) -> (usize, f64, f64, f64) {
    let mut values: Vec<f64> = text
        .lines()
        .skip(1)
        .map(|line| {
            line.split(',').map(|f| f.parse::<f64>().expect("a number")).collect::<Vec<_>>()
        })
        .filter(|row| (from..to).contains(&row[0]))
        .map(|row| row[column])
        .collect();
    values.sort_by(f64::total_cmp);
    let n = values.len();
    let mean = values.iter().sum::<f64>() / n as f64;
    let squares: f64 = values.iter().map(|v| (v - mean).powi(2)).sum();
    let median = f64::midpoint(values[(n - 1) / 2], values[n / 2]);
    (n, mean, (squares / (n - 1) as f64).sqrt(), median)
}

#[test]
fn figures_of_a_window_are_those_of_its_rows() {
    let text = log_of(100, 20, still);
    let log = good(&text);
    assert_eq!((log.windows.len(), codes(&log)), (1, vec![]));
    let window = &log.windows[0];
    assert_eq!((window.from, window.to), (0.0, 100.0));
    for (display, shown) in window.shown.iter().enumerate() {
        let (n, mean, sd, median) = slow(&text, 3 + display, window.from, window.to);
        assert_eq!((shown.count, shown.median), (n as u64, Some(median)));
        assert!((shown.mean - mean).abs() < 1e-9 && (shown.sd - sd).abs() < 1e-9, "{shown:?}");
        assert!(shown.se > 0.0 && shown.se < 0.1, "{shown:?}");
    }
}

proptest::proptest! {
    #![proptest_config(proptest::prelude::ProptestConfig::with_cases(24))]
    /// Whatever the rate and the course, a window's figures are those of the rows in it.
    #[test]
    fn windows_agree_with_the_rows_in_them(
        rate in 1..12_u32, lag in 2.0..20.0f64, step in 0.0..200.0f64, noise in 0.0..2.0f64,
    ) {
        let course = |display: usize, t: f64| {
            let aim = if t < 80.0 { 300.0 } else { 300.0 + step };
            let since = if t < 80.0 { t } else { t - 80.0 };
            let from = if t < 80.0 { 250.0 } else { 300.0 };
            aim + (from - aim) * (-since / lag).exp() + noise * shake(t + 77.0 * display as f64)
        };
        let text = log_of(200, rate, course);
        let log = good(&text);
        for window in &log.windows {
            for (display, shown) in window.shown.iter().enumerate() {
                let (n, mean, sd, median) = slow(&text, 3 + display, window.from, window.to);
                proptest::prop_assert_eq!(shown.count, n as u64);
                proptest::prop_assert!((shown.mean - mean).abs() < 1e-7);
                proptest::prop_assert!((shown.sd - sd).abs() < 1e-7);
                proptest::prop_assert!((shown.median.expect("some") - median).abs() < 0.006);
            }
        }
        // No row counts twice.
        proptest::prop_assert!(log.windows.windows(2).all(|pair| pair[0].to <= pair[1].from));
    }
}

#[test]
fn every_way_of_writing_gives_the_same_log() {
    let plain = log_of(60, 4, still);
    let expected = good(&plain).windows;
    let comma = plain.replace(',', ";").replace('.', ",");
    let tabs = plain.replace(',', "\t");
    let quoted: String = plain
        .lines()
        .map(|line| {
            let fields: Vec<String> = line.split(',').map(|f| format!("\"{f}\"")).collect();
            fields.join(",") + "\r\n"
        })
        .collect();
    let wide: Vec<u8> =
        format!("\u{feff}{plain}").encode_utf16().flat_map(u16::to_le_bytes).collect();
    let big: Vec<u8> =
        format!("\u{feff}{plain}").encode_utf16().flat_map(u16::to_be_bytes).collect();
    let latin = encoding_rs::WINDOWS_1252.encode(&comma).0.into_owned();
    let spaced = plain.replace(',', " , ");
    let preface = format!("Some logger, hall 3\n\n{plain}");
    let units = plain.replacen(
        "Time [s],Speed [rpm],Load [%],EGT 1 [°C],EGT 2 [°C],EGT 3 [°C]\n",
        "Time,Speed,Load,EGT 1,EGT 2,EGT 3\ns,rpm,%,°C,°C,°C\n",
        1,
    );
    let ended = plain.replace('\n', ",\n");
    let cases: [(&str, &[u8]); 11] = [
        ("comma", comma.as_bytes()),
        ("tabs", tabs.as_bytes()),
        ("quoted", quoted.as_bytes()),
        ("utf-16 low first", &wide),
        ("utf-16 high first", &big),
        ("windows-1252", &latin),
        ("spaces", spaced.as_bytes()),
        ("preface", preface.as_bytes()),
        ("units", units.as_bytes()),
        ("marked", &[b"\xef\xbb\xbf", plain.as_bytes()].concat()),
        ("delimiter at the end", ended.as_bytes()),
    ];
    for (name, bytes) in cases {
        let log = read_with(bytes, &Options::default()).expect(name);
        assert_eq!(log.windows, expected, "{name}");
    }
}

#[test]
fn fahrenheit_and_kelvin_become_celsius() {
    let expected = good(&log_of(60, 4, still)).windows[0].shown[0].mean;
    let fahrenheit = log_of(60, 4, |d, t| still(d, t) * 1.8 + 32.0).replace("°C", "°F");
    let kelvin = log_of(60, 4, |d, t| still(d, t) + 273.15).replace("°C", "K");
    let unsaid = log_of(60, 4, |d, t| (still(d, t) + 400.0) * 1.8 + 32.0).replace(" [°C]", "");
    for (text, add, guessed) in
        [(fahrenheit, 0.0, false), (kelvin, 0.0, false), (unsaid, 400.0, true)]
    {
        let log = good(&text);
        let mean = log.windows[0].shown[0].mean;
        assert!((mean - add - expected).abs() < 0.05, "{mean} {:?}", log.form);
        assert_eq!(log.findings.iter().any(|f| f.code == Code::Scale), guessed);
    }
}

#[test]
fn times_of_every_form_give_the_same_windows() {
    let plain = log_of(60, 4, still);
    let expected: Vec<f64> = good(&plain).windows.iter().map(|w| w.to - w.from).collect();
    let with = |name: &str, time: &dyn Fn(f64) -> String| {
        let mut lines = plain.lines();
        let head = lines.next().expect("a header").replacen("Time [s]", name, 1);
        let rows = lines.map(|line| {
            let (t, rest) = line.split_once(',').expect("a time");
            format!("{},{rest}\n", time(t.parse().expect("a number")))
        });
        format!("{head}\n{}", rows.collect::<String>())
    };
    let clock = |t: f64| format!("23:59:{:06.3}", 10.0 + t);
    let cases = [
        with("Time [ms]", &|t| format!("{:.0}", t * 1000.0)),
        with("Time", &|t| format!("{:.0}", t * 1000.0)),
        with("Time [min]", &|t| format!("{:.6}", t / 60.0)),
        with("t", &|t| if t < 50.0 { clock(t) } else { format!("00:00:{:06.3}", t - 50.0) }),
        with("Timestamp", &|t| format!("2026-03-02T08:00:{t:06.3}Z").replace(":60.", ":59.")),
        with("Timestamp", &|t| format!("2026-03-02 08:00:{t:06.3}")),
        with("Zeit", &|t| format!("02.03.2026 08:00:{t:06.3}")),
    ];
    for text in cases {
        let log = good(&text);
        let found: Vec<f64> = log.windows.iter().map(|w| w.to - w.from).collect();
        assert_eq!(found, expected, "{:?} {:?}", log.form.time_form, log.findings);
    }
}

#[test]
fn bad_rows_are_counted_skipped_and_named() {
    let text = log_of(60, 4, still);
    let expected = good(&text).windows[0].shown[0].count;
    let insert = |line: usize, bad: &str| {
        let mut lines: Vec<&str> = text.lines().collect();
        lines.insert(line - 1, bad);
        lines.join("\n") + "\n"
    };
    for (bad, code, skips) in [
        ("4.4,1500,40.0,400", Code::Columns, true),
        ("4.4,1500,40.0,400,410,350,7", Code::Columns, true),
        ("soon,1500,40.0,900,900,900", Code::Time, true),
        ("1.0,1500,40.0,900,900,900", Code::Backwards, true),
        ("4.4,1500,40.0,9999,410,350", Code::Impossible, false),
        ("4.4,1500,40.0,open,410,350", Code::NoNumber, false),
        ("4.4,1500,40.0,,410,350", Code::NoNumber, false),
    ] {
        let log = good(&insert(20, bad));
        assert_eq!(codes(&log), [(code, 20, 1)], "{bad}");
        assert_eq!(log.skipped(), u64::from(skips), "{bad}");
        let shown = &log.windows[0].shown;
        assert_eq!(shown[0].count, expected, "{bad}: the first display has no number of it");
        assert!((shown[0].mean - 400.0).abs() < 1.0, "{bad}");
        // The others of a row with one bad cell count.
        assert_eq!(shown[1].count, expected + u64::from(!skips), "{bad}");
    }
}

#[test]
fn a_cut_file_loses_its_last_line_only() {
    let text = log_of(60, 4, still);
    let cut = &text[..text.len() - 3];
    let log = good(cut);
    assert_eq!(codes(&log), [(Code::CutOff, 241, 1)]);
    assert_eq!(log.rows, 239);
}

#[test]
fn gaps_zones_and_names_that_come_twice_are_told() {
    let text = log_of(60, 4, still)
        + &log_of(60, 4, still).lines().skip(1).fold(String::new(), |all, line| {
            let (t, rest) = line.split_once(',').expect("a time");
            format!("{all}{:.3},{rest}\n", t.parse::<f64>().expect("a number") + 500.0)
        });
    let log = good(&text);
    assert_eq!(codes(&log), [(Code::Gap, 242, 1)]);
    assert_eq!(log.windows.len(), 2, "no window runs across a gap");

    let zoned = |hour: u32, zone: &str, seconds: std::ops::Range<u32>| -> String {
        seconds.map(|s| format!("2026-03-02T{hour:02}:00:{s:02}{zone};400;410;350\n")).collect()
    };
    let head = "Timestamp;EGT 1 [°C];EGT 2 [°C];EGT 3 [°C]\n";
    let (winter, summer) = (zoned(8, "+01:00", 0..40), zoned(9, "+02:00", 40..60));
    let log = good(&format!("{head}{winter}{summer}"));
    assert!(codes(&log).contains(&(Code::Zones, 42, 20)), "{:?}", log.findings);
    assert_eq!((log.rows, log.windows.len()), (60, 1), "an hour's change of clocks is no gap");
    let bare = zoned(9, "", 40..60);
    let log = good(&format!("{head}{winter}{bare}"));
    assert!(codes(&log).contains(&(Code::NoZone, 42, 20)), "{:?}", log.findings);
    assert_eq!((log.rows, log.skipped()), (40, 20), "without a zone they cannot be placed");

    let twice = log_of(60, 4, still).replacen("Load [%]", "EGT 1 [°C]", 1);
    let log = good(&twice);
    assert!(codes(&log).contains(&(Code::SameName, 1, 1)), "{:?}", log.findings);
}

#[test]
fn what_is_no_log_is_refused_with_the_reason() {
    let binary: Vec<u8> = (0..4000_u32).map(|i| (i * 7 % 251) as u8).collect();
    let many = "a,".repeat(5000) + "a\n" + &("1,".repeat(5000) + "1\n");
    let million = "1,".repeat(1_000_000) + "1\n";
    for (bytes, said) in [
        (&b""[..], "the file is empty"),
        (b"\n \r\n", "the file is empty"),
        (b"\xef\xbb\xbf", "the file is empty"),
        (&binary, "the file is no text: it holds zero bytes"),
        (b"only words here\nand more\n", "no table: no delimiter"),
        (b"a,b,c\nx,y,z\nu,v,w\n", "no row of numbers in the first 200 lines"),
        (many.as_bytes(), "more than 4096 columns"),
        (million.as_bytes(), "line 1 is longer than 1 MiB"),
        (b"EGT 1,EGT 2,EGT 3\n5,4,3\n4,4,4\n", "no column of time among `EGT 1`"),
        (
            b"Time,Oil,Water\n0,80,80\n1,80,80\n2,80,80\n",
            "no column is a display of a cylinder, among `Time`",
        ),
        (b"Time,EGT 1,EGT 3\n0,80,80\n1,80,80\n2,80,80\n", "no column for display 2 among `Time`"),
    ] {
        let error = refused(bytes);
        assert!(error.starts_with(said), "{error}");
    }
}

/// A reader of any length that holds nothing.
struct Endless {
    start: &'static [u8],
    left: u64,
    with: u8,
}

impl Read for Endless {
    fn read(&mut self, into: &mut [u8]) -> io::Result<usize> {
        if !self.start.is_empty() {
            let n = self.start.len().min(into.len());
            into[..n].copy_from_slice(&self.start[..n]);
            self.start = &self.start[n..];
            return Ok(n);
        }
        let n = usize::try_from(self.left.min(into.len() as u64)).expect("small");
        into[..n].fill(self.with);
        self.left -= n as u64;
        Ok(n)
    }
}

#[test]
fn a_line_of_many_gigabytes_does_not_fill_the_memory() {
    // Refused after a mebibyte where it is the first line, dropped as it comes further down. The
    // second is 64 MiB, so that the test is quick; the path is the same for any length.
    let first = Endless { start: b"", left: 4 << 30, with: b'7' };
    let error = read(first, &Options::default(), &mut |_| {}).expect_err("refused");
    assert!(matches!(error, LogError::LongLine), "{error}");
    let start = b"Time [s];EGT 1 [\xc2\xb0C];EGT 2 [\xc2\xb0C]\n0;400;410\n1;400;410\n2;400;410\n";
    let later = Endless { start, left: 64 << 20, with: b'7' };
    let log = read(later, &Options::default(), &mut |_| {}).expect("readable");
    assert_eq!(log.rows, 3);
    assert!(codes(&log).contains(&(Code::LongLine, 5, 1)), "{:?}", log.findings);
}

#[test]
fn a_failing_reader_is_told() {
    struct Broken;
    impl Read for Broken {
        fn read(&mut self, _: &mut [u8]) -> io::Result<usize> {
            Err(io::Error::other("the card was pulled"))
        }
    }
    let error = read(Broken, &Options::default(), &mut |_| {}).expect_err("refused");
    assert_eq!(error.to_string(), "the card was pulled");
}

#[test]
fn not_settled_anywhere_tells_how_long_to_wait() {
    let text = log_of(60, 4, |d, t| 400.0 - 300.0 * (-t / [20.0, 22.0, 25.0][d]).exp());
    let log = good(&text);
    assert_eq!((log.windows.len(), codes(&log)), (0, vec![(Code::NotSettled, 0, 1)]));
    let hold = log.unsettled.last().expect("one");
    assert!(hold.at_end);
    // 300·exp(−(60 + s)/25) = 3, and the last row is at 59.75 s.
    let exact = 25.0 * (300.0_f64 / 3.0).ln() - 59.75;
    assert!((hold.more_seconds().expect("foretold") - exact).abs() < 1.5, "{hold:?}");
    let sparse: String = (0..20).map(|i| format!("{};400;410;350\n", i * 20)).collect();
    let log = good(&format!("Time [s];EGT 1 [°C];EGT 2 [°C];EGT 3 [°C]\n{sparse}"));
    assert!(codes(&log).iter().any(|c| c.0 == Code::Sparse), "{:?}", log.findings);
}

#[test]
fn displays_that_are_no_number_are_told_apart() {
    let moving = |t: f64| 400.0 - 380.0 * (-t / 10.0).exp();
    let text = log_of(120, 4, |d, t| if d == 1 { 212.0 } else { moving(t) + 0.3 * shake(t) });
    let log = good(&text);
    let rule = Rule::default();
    assert_eq!(log.manner.stuck, [false, true, false]);
    assert_eq!(rest(&log, &rule, 0, 1), Rest::Stuck);
    let text =
        log_of(120, 4, |d, t| still(d, t) + if d == 2 { 25.0 * shake(3.0 * t) } else { 0.0 });
    let log = good(&text);
    assert_eq!(rest(&log, &rule, 0, 2), Rest::Scattering);
    assert_eq!(rest(&log, &rule, 0, 0), Rest::Settled);
    let text = log_of(120, 4, |d, t| if d == 2 { 9999.0 } else { still(d, t) });
    let log = good(&text);
    assert_eq!(rest(&log, &rule, 0, 2), Rest::Open);
    assert!(codes(&log).iter().any(|c| c.0 == Code::Impossible && c.2 == 480));
}

#[test]
fn a_display_that_drops_out_or_stands_dead_still_is_no_steady_number() {
    let rule = Rule::default();
    let scattering = |d: usize, t: f64| still(d, t) + 4.0 * shake(2.0 * t + 77.0 * d as f64);
    let text = log_of(120, 4, scattering);
    // Every third row of the middle display has a word in place of its number.
    let dropping: Vec<String> = text
        .lines()
        .enumerate()
        .map(|(n, line)| {
            let mut cells: Vec<&str> = line.split(',').collect();
            if n > 0 && n % 3 == 0 {
                cells[4] = "ERR";
            }
            cells.join(",")
        })
        .collect();
    let log = good(&(dropping.join("\n") + "\n"));
    assert_eq!(rest(&log, &rule, 0, 1), Rest::Open);
    assert_eq!(rest(&log, &rule, 0, 0), Rest::Settled);
    // A logger that leaves gaps in all of them says nothing by it.
    let gaps: Vec<String> = text
        .lines()
        .enumerate()
        .map(|(n, line)| {
            let cells: Vec<&str> = line.split(',').collect();
            if n > 0 && n % 3 > 0 {
                format!("{},,,", cells[..3].join(","))
            } else {
                line.to_owned()
            }
        })
        .collect();
    let log = good(&(gaps.join("\n") + "\n"));
    assert_eq!(rest(&log, &rule, 0, 1), Rest::Settled);
    let log = good(&log_of(120, 4, |d, t| if d == 1 { 410.0 } else { scattering(d, t) }));
    assert_eq!(rest(&log, &rule, 0, 1), Rest::Stuck);
    // Quiet mates stand as still.
    let log = good(&log_of(120, 4, |d, t| if d == 1 { 410.0 } else { still(d, t) }));
    assert_eq!(rest(&log, &rule, 0, 1), Rest::Settled);
    let log = good(&text.replace(",410", ",4:10"));
    assert!(codes(&log).iter().any(|c| c.0 == Code::Unreadable), "{:?}", log.findings);
}

#[test]
fn one_that_never_comes_to_rest_does_not_keep_its_mates_from_being_read() {
    let text = log_of(400, 4, |d, t| still(d, t) + if d == 2 { 0.3 * t } else { 0.0 });
    let log = good(&text);
    assert_eq!(log.windows.len(), 1, "{:?}", log.findings);
    assert_eq!(rest(&log, &Rule::default(), 0, 2), Rest::Moving);
    assert_eq!(rest(&log, &Rule::default(), 0, 0), Rest::Settled);
}

#[test]
fn a_falling_display_and_a_late_one_are_seen_from_cold() {
    let text = log_of(200, 4, |d, t| {
        let rise = |lag: f64| {
            18.0 + if t < 10.0 { 0.0 } else { 160.0 * (1.0 - (-(t - 10.0) / lag).exp()) }
        };
        match d {
            0 => rise(14.0),
            1 => rise(40.0),
            _ => (36.0 - rise(14.0)).max(-55.0),
        }
    });
    // With three displays one falls and one is late, so the middle is the late one; a fourth helps.
    let head = "Time [s],Speed [rpm],Load [%],EGT 1 [°C],EGT 2 [°C],EGT 3 [°C]";
    let text: String = text
        .lines()
        .map(|line| {
            if line == head {
                return format!("{line},EGT 4 [°C],EGT 5 [°C]\n");
            }
            let first = line.split(',').nth(3).expect("a display");
            format!("{line},{first},{first}\n")
        })
        .collect();
    let log = good(&text);
    let start = log.manner.start.as_ref().expect("a start from cold");
    assert_eq!(start.each, [Rise::Rises, Rise::Late, Rise::Falls, Rise::Rises, Rise::Rises]);
}

#[test]
fn what_is_told_is_not_guessed() {
    let text = "a,b,c\n0,400,410\n1,400,410\n2,400,410\n";
    let displays = BTreeMap::from([(1, "b".to_owned()), (2, "3".to_owned())]);
    let options = Options {
        time: Some("a".to_owned()),
        time_in: Some(TimeForm::Minutes),
        scale: Some(LogScale::Fahrenheit),
        displays,
        ..Options::default()
    };
    let log = read_with(text.as_bytes(), &options).expect("readable");
    assert_eq!((log.form.displays.clone(), log.form.time), (vec![1, 2], 0));
    assert!((log.seconds - 120.0).abs() < 1e-9);
    assert!((log.courses.values[0] - 204.44).abs() < 0.01);
    let options = Options { speed: Some("rpm".to_owned()), ..options };
    let error = read_with(text.as_bytes(), &options).expect_err("refused");
    assert_eq!(error.to_string(), "no column `rpm` among `a`, `b`, `c`");
    let bare = "0;400;410\n1;400;410\n2;400;410\n";
    let displays = BTreeMap::from([(1, "2".to_owned()), (2, "3".to_owned())]);
    let options = Options { displays, ..Options::default() };
    let log = read_with(bare.as_bytes(), &options).expect("readable");
    assert!(codes(&log).contains(&(Code::NoHeader, 1, 1)));
}

proptest::proptest! {
    #[test]
    fn no_bytes_bring_the_reader_down(bytes in proptest::collection::vec(proptest::prelude::any::<u8>(), 0..600)) {
        let _ = read_with(&bytes, &Options::default());
        let mut log = log_of(3, 4, still).into_bytes();
        log.extend_from_slice(&bytes);
        let _ = read_with(&log, &Options::default());
    }

    #[test]
    fn no_text_of_a_log_brings_the_reader_down(text in "(Time|EGT 1|EGT 2|[0-9;,\"\n\t .:-]){0,120}") {
        let _ = read_with(text.as_bytes(), &Options::default());
    }
}

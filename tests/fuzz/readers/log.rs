//! Data logs from strangers: sniffed, read, shown in every form, never a panic; what one reading of
//! the bytes gives another gives too, whatever pieces the bytes come in.

use std::io::{self, Read};

use measure::readings::log::{
    Encoding, Log, LogScale, Options, Rest, TimeForm, points, read, rest,
};
use measure::units::Scale;
use pages::report::{self, LogPage, Style};

/// Gives a few bytes at a time, as a pipe may.
struct Dripping<'a>(&'a [u8]);

impl Read for Dripping<'_> {
    fn read(&mut self, into: &mut [u8]) -> io::Result<usize> {
        let most = into.len().min(7);
        self.0.read(&mut into[..most])
    }
}

/// What is said about the log; most often nothing.
fn options(said: [u8; 2]) -> Options {
    let [how, which] = said;
    let mut options = Options::default();
    let scales =
        [None, Some(LogScale::Celsius), Some(LogScale::Fahrenheit), Some(LogScale::Kelvin)];
    options.scale = scales[usize::from(how & 3)];
    options.point = [None, None, Some(b'.'), Some(b',')][usize::from(how >> 2 & 3)];
    options.delimiter = [None, None, Some(b' '), Some(b';')][usize::from(how >> 4 & 3)];
    options.head = how & 64 != 0;
    if how & 128 != 0 {
        options.displays = [(1, "2".to_owned()), (2, "3".to_owned())].into();
        options.time = Some("1".to_owned());
    }
    options.time_in =
        [None, None, Some(TimeForm::Milliseconds), Some(TimeForm::Minutes)][usize::from(which & 3)];
    options.encoding = [None, None, Some(Encoding::Utf8), Encoding::ALL.last().copied()]
        [usize::from(which >> 2 & 3)];
    if which & 16 != 0 {
        options.speed = Some("4".to_owned());
    }
    if which & 32 != 0 {
        options.load = Some("5".to_owned());
    }
    if which & 64 != 0 {
        options.rule.within = 2.0;
    }
    if which & 128 != 0 {
        options.rule.within = 86_400.0;
    }
    options
}

/// Everything that is made of a log on the way to a reader.
fn show(log: &Log, options: &Options) {
    let guesses = points(&log.windows, &log.range);
    assert_eq!(guesses.len(), log.windows.len());
    for (index, window) in log.windows.iter().enumerate() {
        assert!(window.from <= window.to);
        for display in 0..window.shown.len() {
            if rest(log, &options.rule, index, display) == Rest::Settled {
                assert!(window.shown[display].mean.is_finite());
            }
        }
    }
    for picture in [false, true] {
        let doc = report::log(&LogPage {
            file: "run.csv",
            path: "run.csv",
            log,
            rule: &options.rule,
            chosen: &[],
            scale: Scale::Celsius,
            width: 80,
            picture,
        });
        let page = report::text::render(&doc, 80, Style::Plain);
        assert!(!page.chars().any(|c| c.is_control() && c != '\n'), "{page:?}");
        let page = report::html::render(&doc);
        assert!(!page.contains("<script"));
        let _ = report::markdown::render(&doc);
    }
}

/// Puts the bytes to it.
///
/// # Panics
/// When what must hold does not.
pub fn put(bytes: &[u8]) {
    let Some((said, bytes)) = bytes.split_first_chunk::<2>() else { return };
    let options = options(*said);
    let whole = read(bytes, &options, &mut |_| {});
    if let Ok(log) = &whole {
        show(log, &options);
    }
    // In other pieces only now and then, since it takes as long again.
    if bytes.len() % 8 == 0 {
        let dripped = read(Dripping(bytes), &options, &mut |_| {});
        match (&whole, &dripped) {
            (Ok(a), Ok(b)) => assert_eq!(format!("{a:?}"), format!("{b:?}")),
            (Err(a), Err(b)) => assert_eq!(a.to_string(), b.to_string()),
            _ => panic!("{whole:?} and {dripped:?}"),
        }
    }
}

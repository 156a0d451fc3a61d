//! The engine that runs, on every page: what must stop it above all, the displays, what can be entered.
//!
//! A display is a dot on a line of its own; the box about the middle of the line is where a healthy one keeps,
//! the broken line in it its usual place. What is outside is a cross, so that no colour is needed.

use maud::{Markup, PreEscaped, html};

use super::frame::Frame;
use crate::serve::live::{Fate, Live, Set};
use facts::knowledge::RunningPoint;
use judge::watch::Level;
use pages::report::{self, NoticeKind, clean};

/// Stands at the top of every page until the engine that runs is put in its place.
pub(super) const STRIP: &str = "<div id=\"strip\"></div>";

/// Between two looks of a page without a script, s.
pub(super) const AGAIN: u8 = 1;
/// The same of the main question: what is asked there is to be read as well.
pub(super) const AGAIN_AT_REST: u8 = 3;

/// On which page something is shown.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum On {
    /// The page of the live readings alone.
    Live,
    /// The session of the job whose engine runs.
    Job,
    /// Another: it shows what must stop the engine.
    Other,
}

impl On {
    /// The word by which a request says it.
    #[must_use]
    pub fn as_str(self) -> &'static str {
        match self {
            Self::Live => "live",
            Self::Job => "job",
            Self::Other => "",
        }
    }

    /// Reads the word.
    #[must_use]
    pub fn read(word: &str) -> Self {
        [Self::Live, Self::Job].into_iter().find(|on| on.as_str() == word).unwrap_or(Self::Other)
    }

    /// Where one goes on from there.
    #[must_use]
    pub fn address(self) -> &'static str {
        if self == Self::Live { "/live" } else { "/" }
    }
}

/// A page with the engine that runs at its top.
#[must_use]
pub fn topped(page: &str, live: &Live) -> String {
    let page = page.replacen(STRIP, &strip(live).into_string(), 1);
    let Some((kind, _)) = &live.heat else { return page };
    let title = format!("<title>{}: ", kind.word());
    if page.contains(&title) { page } else { page.replacen("<title>", &title, 1) }
}

/// The page of the live readings.
#[must_use]
pub fn page(live: &Live, wrong: Option<&str>) -> String {
    let title = match &live.heat {
        Some((kind, _)) => format!("{}: {} runs", kind.word(), live.job),
        None => format!("Live readings of {}", live.job),
    };
    let content = html! {
        main {
            h1 { "Live readings of " (clean(&live.job)) }
            @if let Some(wrong) = wrong {
                p.notice role="alert" { strong { "Not entered:" } " " (clean(wrong)) }
            }
            (inside(live, On::Live))
            (lines(live))
            p { a.plain href="/" { "To the session" } }
        }
    };
    Frame { title: &title, again: Some(AGAIN), ..Frame::PLAIN }.around(&content)
}

/// What a script puts in the place of the same on its page.
#[must_use]
pub fn now(live: &Live, on: On) -> String {
    let parts = html! {
        (strip(live))
        @if on != On::Other { (inside(live, on)) }
        @if on == On::Live { (lines(live)) }
    };
    parts.into_string()
}

/// The displays and what can be entered, within a page.
#[must_use]
pub fn inside(live: &Live, on: On) -> Markup {
    html! { (displays(live, on)) (sets(live, on)) }
}

/// At the top of every page: what must stop the engine, and the way to its readings.
fn strip(live: &Live) -> Markup {
    let offered = live.offered();
    let alarm = live.heat.is_some() || !live.strayed.is_empty();
    html! {
        div #strip.strip.alarm[alarm] data-news=(live.news) data-row=(live.row) {
            @if let Some((kind, text)) = &live.heat {
                @let class = if *kind == NoticeKind::Stop { "heat stop" } else { "heat watch" };
                p class=(class) role="alert" {
                    strong { (kind.word()) } " " (clean(&live.job)) " runs: " (clean(text))
                }
            }
            @for text in live.strayed.values() {
                p.heat.watch role="status" { (clean(&live.job)) ": " (clean(text)) }
            }
            p.runs {
                a.plain href="/live" { "Live readings of " (clean(&live.job)) }
                @if let Some(old) = old(live) { " " strong { (old) } }
                @if offered > 0 {
                    " " (report::words::count(offered, "reading set", "reading sets")) " to enter"
                }
            }
        }
    }
}

/// Why the numbers are not those of now.
fn old(live: &Live) -> Option<String> {
    if let Some(ended) = &live.ended {
        return Some(format!("The log has ended: {}", clean(ended)));
    }
    live.silent.map(|seconds| format!("Nothing came for {seconds} s: these readings are old."))
}

fn displays(live: &Live, on: On) -> Markup {
    html! {
        section #live.live data-on=(on.as_str()) aria-label="Live readings" {
            @match &live.levels {
                None => { p.state { (old(live).unwrap_or_else(|| "No row has come yet.".to_owned())) } }
                Some(levels) => {
                    @let [runs, held] = report::watch_state(levels, live.hold);
                    p.state { strong { (runs) } br; (held) }
                    @if let Some(old) = old(live) { p.notice { strong { (old) } } }
                    table.displays {
                        thead { tr {
                            th scope="col" { "display" } th.right scope="col" { "reads" }
                            th.right scope="col" { "from the others" } th scope="col" { @if levels.displays.iter().any(|level| level.band.is_some()) { "healthy ones keep in the box" } }
                        } }
                        tbody {
                            @for (number, level) in (1_u8..).zip(&levels.displays) { (display(number, *level, live)) }
                        }
                    }
                }
            }
        }
    }
}

fn display(number: u8, level: Level, live: &Live) -> Markup {
    let reads = report::watch_reads(level, live.scale);
    let strayed = live.strayed.contains_key(&number);
    html! {
        tr.strayed[strayed] {
            th scope="row" { (number) }
            @match &reads {
                Some((value, off)) => { td.right { (value) } td.right { (off) } }
                None => td colspan="2" { "no number" },
            }
            td.track { @if let Some((place, outside)) = report::watch_place(level) { (track(place, outside)) } }
        }
    }
}

/// Half the width of the box, of the line, and of a mark; height of the line.
const BOX: f64 = 56.0;
const LINE: f64 = 112.0;
const MARK: f64 = 7.0;
const HEIGHT: f64 = 24.0;

/// Where a display stands along its line.
fn track(place: f64, outside: bool) -> Markup {
    let (middle, high) = (LINE + MARK, HEIGHT / 2.0);
    let x = (middle + (place * BOX).clamp(-LINE, LINE)).round();
    let said = match (outside, place < 0.0) {
        (false, _) => "within",
        (true, true) => "below what is healthy",
        (true, false) => "above what is healthy",
    };
    let cross = format!("M{} {}l{s} {s}m0 -{s}l-{s} {s}", x - MARK, high - MARK, s = 2.0 * MARK);
    html! {
        svg viewBox=(format!("0 0 {} {HEIGHT}", 2.0 * middle)) role="img" aria-label=(said) {
            path d=(format!("M{MARK} {high}H{}", middle + LINE)) stroke="#9a9a9a" stroke-width="1" {}
            rect x=(middle - BOX) y="3" width=(2.0 * BOX) height=(HEIGHT - 6.0) fill="#e4e4e4" stroke="#555555" {}
            path d=(format!("M{middle} 3V{}", HEIGHT - 3.0)) stroke="#555555" stroke-width="1.5" stroke-dasharray="3 3" {}
            @if outside {
                path d=(cross) fill="none" stroke="#9c2f00" stroke-width="4" {}
            } @else {
                circle cx=(x) cy=(high) r=(MARK) fill="#1c1c1c" {}
            }
        }
    }
}

fn sets(live: &Live, on: On) -> Markup {
    html! {
        section #sets.sets aria-label="Readings that have settled" {
            @for set in &live.sets { (one(set, &live.points, on)) }
        }
    }
}

fn one(set: &Set, points: &[RunningPoint], on: On) -> Markup {
    let when = report::seconds(set.seconds);
    html! {
        @match set.fate {
            Fate::Entered(entry) => p { (when) ": " (clean(&set.text)) ". " b { "In the job as entry " (entry) "." } },
            Fate::Entering => p { (when) ": " (clean(&set.text)) ". Being entered." },
            Fate::Offered => form.answer method="post" action="/enter" {
                input type="hidden" name="n" value=(set.number);
                input type="hidden" name="on" value=(on.as_str());
                p { (when) ": " (clean(&set.text)) }
                @if set.at.is_some() {
                    button.first { "Enter these readings" }
                } @else {
                    p.help {
                        "At which point was the engine held?"
                        @if !set.doubt.is_empty() { " The log does not say: " (clean(&set.doubt)) "." }
                    }
                    @for point in points {
                        button name="at" value=(point.as_str()) { "Enter them at " (clean(point.name())) }
                    }
                }
            },
        }
    }
}

fn lines(live: &Live) -> Markup {
    html! {
        section #lines aria-label="What was said" {
            @if live.led {
                p { a.plain href="/stop.csv" download { "What led to the last STOP (CSV)" } }
            }
            @if !live.said.is_empty() {
                ul {
                    @for (seconds, text) in &live.said {
                        li { @if let Some(seconds) = seconds { (report::seconds(*seconds)) ": " } (clean(text)) }
                    }
                }
            }
        }
    }
}

/// The page where no log is followed.
#[must_use]
pub fn none() -> String {
    let to_do = PreEscaped("Start it as <code>oddpot serve --watch SOURCE --job JOB</code>.");
    let content = html! {
        main { h1 { "No log is followed" } p { (to_do) } p { a.plain href="/" { "To the session" } } }
    };
    Frame { title: "No log is followed", ..Frame::PLAIN }.around(&content)
}

#[cfg(test)]
mod tests {
    use super::*;
    use judge::watch::Levels;
    use measure::engine::Regime;
    use measure::readings::log::Hold;

    const NASTY: &str = "<script>alert(1)</script>\"'><img src=x onerror=alert(2)>";

    fn level(value: f64, off: f64) -> Level {
        Level { value: Some(value), off: Some(off), band: Some((0.0, 36.0)) }
    }

    fn running() -> Live {
        let none = Level { value: None, off: None, band: None };
        let displays = vec![level(512.0, 4.0), level(441.0, -67.0), none, level(900.0, 390.0)];
        let mut live = Live::new(NASTY.to_owned(), fixture::knowledge().points.kept().collect());
        let at = Some(fixture::at(Regime::Idle));
        let levels = Levels { seconds: 74.0, at, speed: Some(800.0), load: None, displays };
        live.stands(levels, Hold::default(), live.scale);
        live.heat = Some((NoticeKind::Stop, NASTY.to_owned()));
        live.strayed.insert(2, NASTY.to_owned());
        live.say(Some(3.0), NASTY);
        for (number, at) in [(1, None), (2, Some(fixture::at(Regime::Idle)))] {
            let (text, doubt) = (NASTY.to_owned(), NASTY.to_owned());
            live.settled(Set { number, at, seconds: 74.0, text, doubt, fate: Fate::Offered });
        }
        live
    }

    #[test]
    fn foreign_text_stays_text_and_stop_stands_first() {
        let live = running();
        let page = topped(&page(&live, Some(NASTY)), &live);
        assert_eq!(page.matches("<script>").count(), 1, "{page}");
        assert!(!page.contains("<img") && !page.contains(" style="), "{page}");
        let body = page.find("<body").expect("a body");
        let stop = page.find("heat stop").expect("stop");
        assert!(page[body..stop].matches("<p").count() <= 1, "nothing stands before it");
        assert_eq!(page.matches("<title>STOP: ").count(), 1);
        assert!(topped(&none(), &live).contains("<title>STOP: No log"));
        assert!(page.len() < 40_000, "{} bytes", page.len());
    }

    #[test]
    fn a_dot_is_within_the_box_and_a_cross_outside() {
        let live = running();
        let shown = inside(&live, On::Job).into_string();
        assert_eq!(shown.matches("<svg").count(), 3, "{shown}");
        assert_eq!(shown.matches("<circle").count(), 1);
        for said in ["within", "below what is healthy", "above what is healthy", "no number"] {
            assert!(shown.contains(said), "{said}");
        }
        insta::assert_snapshot!(track(-1.5, true).into_string(), @r##"<svg viewBox="0 0 238 24" role="img" aria-label="below what is healthy"><path d="M7 12H231" stroke="#9a9a9a" stroke-width="1"></path><rect x="63" y="3" width="112" height="18" fill="#e4e4e4" stroke="#555555"></rect><path d="M119 3V21" stroke="#555555" stroke-width="1.5" stroke-dasharray="3 3"></path><path d="M28 5l14 14m0 -14l-14 14" fill="none" stroke="#9c2f00" stroke-width="4"></path></svg>"##);
    }

    #[test]
    fn a_set_of_a_known_point_is_one_press_and_of_an_unknown_one_asks_for_it() {
        let live = running();
        let shown = sets(&live, On::Job).into_string();
        assert_eq!(shown.matches("Enter these readings").count(), 1, "{shown}");
        assert_eq!(shown.matches("name=\"at\"").count(), live.points.len());
        assert_eq!(shown.matches("name=\"on\" value=\"job\"").count(), 2);
    }

    #[test]
    fn other_pages_show_stop_and_no_displays() {
        let live = running();
        let shown = now(&live, On::Other);
        assert!(shown.contains("heat stop") && !shown.contains("<svg"), "{shown}");
        let old = now(&Live { silent: Some(9), ..live }, On::Other);
        assert!(old.contains("Nothing came for 9 s"), "{old}");
    }
}

//! What is said while an engine is watched: a line for each event, and the displays as they stand.

use facts::job::timeline::Timeline;
use judge::heat::Heat;
use judge::watch::{Event, Level, Levels};
use measure::readings::log::{Form, Hold};
use measure::units::{Celsius, Scale};

use super::doc::NoticeKind;
use super::{heat, log, terms, words};

/// Cells from the middle of a display's track to the end of what is healthy, and to its own end.
const HEALTHY: usize = 7;
const TRACK: usize = 14;

/// What begins or ends, as a line without the time; `None` for what is not said.
#[must_use]
pub fn watch_event(event: &Event, timeline: &Timeline, scale: Scale) -> Option<String> {
    let notice = |kind: NoticeKind, heat: &Heat| {
        format!("{}: {}", kind.word(), words::sentence(&heat::text(timeline, heat, scale)))
    };
    let size = |by: f64| words::difference(by.abs(), scale).trim_start_matches('+').to_owned();
    Some(match event {
        Event::Stop(heat) => notice(NoticeKind::Stop, heat),
        Event::Watch(heat) => notice(NoticeKind::Watch, heat),
        Event::Cool => "no longer too hot".to_owned(),
        Event::Strayed { display, by, limit } => format!(
            "warning limit: display {display} is {} {} its usual place (limit {})",
            size(*by),
            if *by > 0.0 { "above" } else { "below" },
            size(*limit)
        ),
        Event::Back(display) => format!("display {display} is back within its warning limit"),
        Event::Recorded(_) => return None,
    })
}

/// How a log is written, as a line.
#[must_use]
pub fn watch_form(form: &Form) -> String {
    let name = |column: usize| form.names[column].trim().to_owned();
    let displays: Vec<String> = form.displays.iter().map(|&column| name(column)).collect();
    let shown = match displays.as_slice() {
        [first, .., last] => format!("{} displays, {first} to {last}", displays.len()),
        _ => words::count(displays.len(), "display", "displays"),
    };
    let speed = form.speed.map_or_else(|| "no speed".to_owned(), |c| format!("speed {}", name(c)));
    let load = form.load.map_or_else(|| "no load".to_owned(), |c| format!("load {}", name(c)));
    format!("{shown}; {speed}; {load}")
}

/// The displays as they stand, a line each, with how the engine is held above them and what must stop it
/// at the very top.
#[must_use]
pub fn watch_panel(levels: &Levels, hold: Hold, stops: bool, scale: Scale) -> Vec<String> {
    let mut lines = Vec::new();
    if stops {
        lines.push(format!("{}: back off now", NoticeKind::Stop.word()));
    }
    lines.extend(watch_state(levels, hold));
    for (display, level) in (1..).zip(&levels.displays) {
        lines.push(line(display, *level, scale));
    }
    if levels.displays.iter().any(|level| level.band.is_some()) {
        lines.push("[ ] healthy  : usual place  o here  X outside".to_owned());
    }
    lines
}

/// Where and how the engine runs, and how it is held: a line each.
#[must_use]
pub fn watch_state(levels: &Levels, hold: Hold) -> [String; 2] {
    let point = levels.at.map_or("running point not known", terms::point);
    let mut head = vec![log::seconds(levels.seconds), point.to_owned()];
    head.extend(levels.speed.map(|speed| format!("speed {}", words::whole(speed))));
    head.extend(levels.load.map(|load| format!("load {}", words::whole(load))));
    let state = match hold {
        Hold { settled: Some(settled), .. } => {
            format!(
                "at rest for {}: this point is read, go on when you like",
                log::seconds(settled)
            )
        }
        Hold { steady: Some(steady), .. } => {
            format!("held for {}; the displays are still moving", log::seconds(steady))
        }
        _ => "not held".to_owned(),
    };
    [head.join(", "), state]
}

/// What a display reads and how far it is from the others, as it is shown; `None` where it shows no number.
#[must_use]
pub fn watch_reads(level: Level, scale: Scale) -> Option<(String, String)> {
    let value = Celsius::new(level.value?).ok()?;
    let off = level.off.map_or_else(String::new, |off| words::bare_difference(off, scale));
    Some((words::temperature(value, scale), off))
}

/// Where a display stands: so many times as far from its usual place as a healthy one strays, and whether it is
/// outside.
#[must_use]
pub fn watch_place(level: Level) -> Option<(f64, bool)> {
    let (off, (usual, reach)) = level.off.zip(level.band)?;
    Some(((off - usual) / reach.max(1e-6), (off - usual).abs() >= reach))
}

fn line(display: usize, level: Level, scale: Scale) -> String {
    let Some((reads, off)) = watch_reads(level, scale) else {
        return format!("{display:>3}  no number");
    };
    let track = watch_place(level).map_or_else(String::new, track);
    format!("{display:>3} {reads:>9} {off:>6}  {track}").trim_end().to_owned()
}

/// Where a display stands along a line: `[` and `]` the ends of what is healthy.
fn track((place, outside): (f64, bool)) -> String {
    #[expect(clippy::cast_precision_loss, clippy::cast_possible_truncation, reason = "a few cells")]
    let cell = (place * HEALTHY as f64).round().clamp(-(TRACK as f64), TRACK as f64) as isize;
    let mut cells = vec![' '; 2 * TRACK + 1];
    cells[TRACK - HEALTHY] = '[';
    cells[TRACK + HEALTHY] = ']';
    cells[TRACK] = ':';
    if let Some(own) = cells.get_mut(TRACK.saturating_add_signed(cell)) {
        *own = if outside { 'X' } else { 'o' };
    }
    cells.into_iter().collect::<String>().trim_end().to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;
    use measure::engine::Regime;

    #[test]
    fn a_display_stands_where_it_is_between_the_ends_of_what_is_healthy() {
        insta::assert_snapshot!(
            [0.0, 18.0, -36.0, 40.0, -500.0]
                .map(|off| Level { value: Some(500.0), off: Some(off), band: Some((0.0, 36.0)) })
                .map(|level| watch_place(level).map_or_else(String::new, track))
                .join("|\n"),
            @r"
                   [      o      ]|
                   [      :   o  ]|
                   X      :      ]|
                   [      :      ]X|
            X      [      :      ]
            "
        );
    }

    #[test]
    fn sixteen_displays_fit_a_screen() {
        let level = |value: f64, off: f64| Level {
            value: Some(value),
            off: Some(off),
            band: Some((0.0, 36.0)),
        };
        let mut displays = vec![level(512.0, 4.0); 15];
        displays.push(Level { value: None, off: None, band: None });
        displays[4] = level(571.0, 61.0);
        let levels = Levels {
            seconds: 74.0,
            at: Some(fixture::at(Regime::Idle)),
            speed: Some(800.0),
            load: None,
            displays,
        };
        let hold = Hold { steady: Some(70.0), settled: Some(36.0) };
        let lines = watch_panel(&levels, hold, true, Scale::Celsius);
        assert!(lines.len() < 24 && lines.iter().all(|line| line.chars().count() < 80));
        insta::assert_snapshot!(lines[..8].join("\n"), @r"
        STOP: back off now
        74 s, warm idle, speed 800
        at rest for 36 s: this point is read, go on when you like
          1    512 °C     +4         [      :o     ]
          2    512 °C     +4         [      :o     ]
          3    512 °C     +4         [      :o     ]
          4    512 °C     +4         [      :o     ]
          5    571 °C    +61         [      :      ]    X
        ");
        assert_eq!(
            lines.last().map(String::as_str),
            Some("[ ] healthy  : usual place  o here  X outside")
        );
    }
}

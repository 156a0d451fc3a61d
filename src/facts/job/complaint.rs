//! The complaint as data: what the customer says, beside his words.
//!
//! It must not weigh anything: what it makes likelier is for the diagnosis.

use std::collections::BTreeSet;

use serde::{Deserialize, Serialize};

use super::heard::Heard;
use crate::knowledge::{Points, RunningPoint};
use measure::engine::{Cylinder, PointId};
use measure::named_enum;
use measure::units::{Celsius, Scale};

named_enum! {
    /// What the customer says that it does.
    Does, "kind of complaint" {
        /// A display shows too little.
        Low = "low",
        /// A display shows too much.
        High = "high",
        /// A display jumps.
        Jumps = "jumps",
        /// A display shows nothing, or does not move.
        Dead = "dead",
        /// The engine misses.
        Misses = "misses",
        /// The engine pings under load.
        Pings = "pings",
        /// The engine runs on when it is switched off.
        RunsOn = "runs-on",
    }
}

impl Does {
    /// Whether it is a sign of a cylinder that really runs hot, whatever the displays show.
    #[must_use]
    pub fn is_heat(self) -> bool {
        matches!(self, Self::Pings | Self::RunsOn)
    }
}

/// What the head of a job holds beside the words; all of it may be missing.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Details {
    /// Running point of the complaint.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub at: Option<PointId>,
    /// The display complained of.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub cylinder: Option<Cylinder>,
    /// All displays together are complained of.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub all: bool,
    /// What it does.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub does: Option<Does>,
    /// The recent work since which it does so, a flag of the knowledge base.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub since: Option<String>,
    /// The engine builder's limit for a single display.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub builder_limit: Option<Celsius>,
    /// The scale of plain numbers in this job.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub scale: Option<Scale>,
    /// The vehicle's number plate, as it was said.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub plate: Option<String>,
    /// How far it had run, with its unit, as it was said.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub mileage: Option<String>,
}

impl Details {
    /// Whether nothing was said, so that a file does not hold it.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        *self == Self::default()
    }

    /// Which display is complained of.
    #[must_use]
    pub fn which(&self) -> Option<Which> {
        if self.all { Some(Which::All) } else { self.cylinder.map(Which::One) }
    }

    /// Sets it, and says whether another was set before.
    fn name(&mut self, which: Which) -> bool {
        let before = self.which().is_some();
        match which {
            Which::One(cylinder) => self.cylinder = Some(cylinder),
            Which::All => self.all = true,
        }
        before
    }
}

/// The display that is complained of, or all of them.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Which {
    /// One, by its number.
    One(Cylinder),
    /// All together.
    All,
}

impl std::fmt::Display for Which {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::One(cylinder) => write!(f, "{cylinder}"),
            Self::All => f.write_str("all"),
        }
    }
}

impl std::str::FromStr for Which {
    type Err = String;

    fn from_str(word: &str) -> Result<Self, String> {
        if word == "all" {
            return Ok(Self::All);
        }
        word.parse().map(Self::One).map_err(|_| "give the number of a display, or `all`".to_owned())
    }
}

/// A vehicle said in one line: its name, then plate and mileage behind semicolons, as
/// `blue van; AB 123 CD; 84210 km`.
#[must_use]
pub fn vehicle_line(line: &str) -> (String, Option<String>, Option<String>) {
    let mut parts = line.split(';').map(str::trim);
    let name = parts.next().unwrap_or_default().to_owned();
    let mut next = || parts.next().filter(|part| !part.is_empty()).map(str::to_owned);
    let plate = next();
    (name, plate, next())
}

/// The same as options of `open`, without their dashes; the scale is none of them.
#[must_use]
pub fn flags(details: &Details) -> Vec<(&'static str, String)> {
    let limit = details.builder_limit.map(|limit| format!("{}C", limit.value()));
    [
        ("complaint-at", details.at.map(|at| at.to_string())),
        ("complaint-cylinder", details.which().map(|which| which.to_string())),
        ("complaint-does", details.does.map(|does| does.to_string())),
        ("since", details.since.clone()),
        ("builder-limit", limit),
        ("plate", details.plate.clone()),
        ("mileage", details.mileage.clone()),
    ]
    .into_iter()
    .filter_map(|(flag, value)| Some((flag, value?)))
    .collect()
}

/// Words that may stand in a line about the complaint and say nothing.
const FILLING: [&str; 9] =
    ["cylinder", "display", "pot", "at", "load", "point", "reads", "it", "since"];

/// Reads a line such as `3 full high`: a cylinder, a running point, what it does, the work since which.
///
/// # Errors
/// A sentence, when a word is none of these or two speak about one thing.
pub fn details(line: &str, points: &Points, known_work: &[&str]) -> Result<Details, String> {
    let mut details = Details::default();
    let line = line.to_lowercase().replace("runs on", "runs-on").replace([',', ';'], " ");
    for word in line.split_whitespace().filter(|word| !FILLING.contains(word)) {
        let twice = if let Ok(which) = word.parse::<Which>() {
            details.name(which)
        } else if let Some(at) = points.named(word) {
            details.at.replace(at.id).is_some()
        } else if let Ok(does) = word.parse::<Does>() {
            details.does.replace(does).is_some()
        } else if known_work.contains(&word) {
            details.since.replace(word.to_owned()).is_some()
        } else {
            return Err(format!(
                "`{word}` is none of these: the number of a cylinder, or all; {}; {}",
                points.ids().join(", "),
                Does::NAMES.join(", ")
            ));
        };
        if twice {
            return Err(format!(
                "`{word}`: give one cylinder, one point and one word for what it does"
            ));
        }
    }
    Ok(details)
}

/// What a complaint in plain words comes to as such a line, to be looked over by whoever took it: the one display,
/// the one point and the one word for what it does that it names. Empty where it names none, or several.
#[must_use]
pub fn gist(text: &str, points: &Points, cylinders: Cylinder) -> String {
    let heard = Heard::of(text, points);
    let which = match heard.numbers.as_slice() {
        [] if heard.all => Some(Which::All),
        &[one] if (1..=cylinders).contains(&one) => Some(Which::One(one)),
        _ => None,
    };
    let text = text.to_lowercase().replace("runs on", "runs-on");
    let words = text.split(|c: char| !c.is_alphanumeric() && c != '-');
    let does: BTreeSet<String> =
        words.filter_map(|word| word.parse::<Does>().ok()).map(|does| does.to_string()).collect();
    let at = Some(&heard.points).filter(|named| named.len() == 1);
    let parts = [
        which.map(|which| which.to_string()),
        at.map(|named| named[0].id.to_string()),
        does.first().filter(|_| does.len() == 1).cloned(),
    ];
    parts.into_iter().flatten().collect::<Vec<_>>().join(" ")
}

/// Natural standard deviations from which a display that was complained of stands off as complained
/// (common practice, no source). One healthy display in three does too.
pub const NOTICED: f64 = 1.0;

/// The complaint as the timeline has it.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Complaint {
    /// The customer's words.
    pub text: String,
    /// Running point.
    pub at: Option<RunningPoint>,
    /// The display complained of.
    pub display: Option<Cylinder>,
    /// All displays together.
    pub all: bool,
    /// What it does.
    pub does: Option<Does>,
    /// The recent work since which it does so.
    pub since: Option<String>,
    /// What the words name besides.
    pub heard: Heard,
}

impl Complaint {
    /// Whether anything of the engine is complained of: a display, a point, or what it does.
    #[must_use]
    pub fn names_something(&self) -> bool {
        self.at.is_some()
            || self.display.is_some()
            || self.speaks_of_all()
            || self.does.is_some()
            || !self.heard.numbers.is_empty()
            || !self.heard.points.is_empty()
    }

    /// Whether it is said to come and go.
    #[must_use]
    pub fn comes_and_goes(&self) -> bool {
        self.does == Some(Does::Jumps) || self.heard.comes
    }

    /// Whether anything of the engine is complained of, were it in words alone.
    #[must_use]
    pub fn is_there(&self) -> bool {
        self.names_something() || self.heard.felt
    }

    /// Whether all displays are complained of together, said as such or in the words: no display then
    /// stands off from the others.
    #[must_use]
    pub fn speaks_of_all(&self) -> bool {
        self.all || self.heard.all && self.display.is_none()
    }

    /// How far a display stands off in the way that is complained of, in natural standard deviations;
    /// either way where nothing was said of that.
    #[must_use]
    pub fn shown_by(&self, display: Cylinder, sigmas: f64) -> f64 {
        match self.does.filter(|_| self.display == Some(display)) {
            Some(Does::High) => sigmas,
            Some(Does::Low) => -sigmas,
            _ => sigmas.abs(),
        }
    }

    /// From the head of a job.
    #[must_use]
    pub fn of(text: &str, details: &Details, points: &Points) -> Self {
        Self {
            text: text.to_owned(),
            at: details.at.and_then(|at| points.get(at)),
            display: details.cylinder,
            all: details.all,
            does: details.does,
            since: details.since.clone(),
            heard: Heard::of(text, points),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use measure::engine::Regime;

    #[test]
    fn a_vehicle_may_be_said_with_plate_and_mileage() {
        for (line, name, plate, mileage) in [
            ("blue van", "blue van", None, None),
            ("blue van; AB 123 ;84210 km", "blue van", Some("AB 123"), Some("84210 km")),
            ("blue van;; 84210 mi; more", "blue van", None, Some("84210 mi")),
            (" ; AB 123", "", Some("AB 123"), None),
            ("", "", None, None),
        ] {
            let given = |text: Option<&str>| text.map(str::to_owned);
            assert_eq!(
                vehicle_line(line),
                (name.to_owned(), given(plate), given(mileage)),
                "{line}"
            );
        }
    }

    #[test]
    fn words_give_a_line_to_look_over() {
        for (words, line) in [
            ("display 3 reads low at cruise since the exhaust was off", "3 cruise low"),
            ("number four misses on the hills", "4 misses"),
            ("all displays read high at idle", "all idle high"),
            // Two of one kind, or one that this engine has not, are for the asker to say.
            ("cylinder 3 and cylinder 4 are low at full load", "full low"),
            ("cylinder 9 is low", "low"),
            ("cylinder 2 is high at idle and low at full load", "2"),
            ("it never ran well", ""),
        ] {
            assert_eq!(gist(words, Points::built_in(), 4), line, "{words}");
            assert!(details(line, Points::built_in(), &[]).is_ok(), "{line}");
        }
    }

    #[test]
    fn a_line_about_the_complaint_is_read_word_by_word() {
        let read = |line| details(line, Points::built_in(), &["pump-serviced"]);
        let all = read("Cylinder 3, full load: high since pump-serviced");
        assert!(all.is_err(), "a colon is no word");
        let all = read("cylinder 3 full load high since pump-serviced").expect("read");
        assert_eq!(
            (all.cylinder, all.at, all.does),
            (Some(3), Some(Regime::Full.into()), Some(Does::High))
        );
        assert_eq!(all.since.as_deref(), Some("pump-serviced"));
        assert_eq!(read("it runs on").expect("read").does, Some(Does::RunsOn));
        assert!(read("").expect("empty").is_empty());
        assert_eq!(read("all full low").expect("read").which(), Some(Which::All));
        assert!(read("2 3").expect_err("two").contains("one cylinder"));
        assert!(read("all 3").expect_err("two").contains("one cylinder"));
        assert!(read("loud").expect_err("no word").contains("`loud` is none of these"));
    }
}

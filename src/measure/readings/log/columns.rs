//! What a column is, by the name and unit that loggers of the trade give it.
//!
//! Words of the trade in a few languages, no product's names. It must not look at numbers.

use std::collections::BTreeMap;

use crate::named_enum;

named_enum! {
    /// The scale of a column of temperatures.
    LogScale, "temperature scale" {
        /// Degrees Celsius.
        Celsius = "c",
        /// Degrees Fahrenheit.
        Fahrenheit = "f",
        /// Kelvin.
        Kelvin = "k",
    }
}

impl LogScale {
    /// What makes °C of a number x: `(x − less) / per`.
    pub(super) fn steps(self) -> (f64, f64) {
        match self {
            Self::Celsius => (0.0, 1.0),
            Self::Fahrenheit => (32.0, 1.8),
            Self::Kelvin => (273.15, 1.0),
        }
    }

    /// "°C", "°F" or "K".
    #[must_use]
    pub fn sign(self) -> &'static str {
        match self {
            Self::Celsius => "°C",
            Self::Fahrenheit => "°F",
            Self::Kelvin => "K",
        }
    }
}

/// A column's name taken apart.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Name {
    /// Words in lower case; a number is a word.
    pub(super) words: Vec<String>,
    /// Unit in lower case, without brackets; may be empty.
    pub(super) unit: String,
}

impl Name {
    /// Takes a name apart; `unit` is that of a row of units, if there is one.
    pub(super) fn of(name: &str, unit: &str) -> Self {
        let mut name = name.to_lowercase();
        let mut unit = bare_unit(unit);
        if let Some(open) = name.find(['[', '(', '{']) {
            if unit.is_empty() {
                unit = bare_unit(&name[open..]);
            }
            name.truncate(open);
        }
        let mut words: Vec<String> = Vec::new();
        let mut digit = None;
        for c in name.chars() {
            if !c.is_alphanumeric() {
                if c == '°' && unit.is_empty() {
                    "°".clone_into(&mut unit);
                }
                digit = None;
                continue;
            }
            let is_digit = c.is_ascii_digit();
            match words.last_mut() {
                Some(word) if digit == Some(is_digit) => word.push(c),
                _ => words.push(c.to_string()),
            }
            digit = Some(is_digit);
        }
        // A unit at the end without brackets: `EGT1 degC`, `T_3_F`, `EGT 4 °C`.
        if unit.is_empty() || unit == "°" {
            let last = words.last().cloned().unwrap_or_default();
            let before_is_number = words.len() > 1 && is_number(&words[words.len() - 2]);
            let long = scale(&last).is_some() && last.len() > 1;
            let short = ["c", "f", "k"].contains(&last.as_str()) && before_is_number;
            if long || short || (unit == "°" && ["c", "f"].contains(&last.as_str())) {
                unit = last;
                words.pop();
            }
        }
        Self { words, unit }
    }

    fn has(&self, list: &[&str]) -> bool {
        self.words.iter().any(|word| list.contains(&word.as_str()))
    }

    /// Whether a word begins with, or ends in, one of these.
    fn hints(&self, list: &[&str]) -> bool {
        self.words.iter().any(|w| list.iter().any(|l| w.starts_with(l) || w.ends_with(l)))
    }
}

fn is_number(word: &str) -> bool {
    word.bytes().all(|b| b.is_ascii_digit())
}

/// A unit without brackets and spaces, in lower case.
pub(super) fn bare_unit(unit: &str) -> String {
    unit.trim()
        .trim_matches(['[', ']', '(', ')', '{', '}'])
        .trim()
        .to_lowercase()
        .replace([' ', 'º'], "")
}

/// The scale that a unit means.
pub(super) fn scale(unit: &str) -> Option<LogScale> {
    let bare = unit.trim_start_matches('°');
    match bare {
        "c" | "degc" | "celsius" | "gradc" => Some(LogScale::Celsius),
        "f" | "degf" | "fahrenheit" => Some(LogScale::Fahrenheit),
        "k" | "degk" | "kelvin" => Some(LogScale::Kelvin),
        _ => None,
    }
}

/// Whether this is a unit at all, as a row of units has them.
pub(super) fn is_unit(text: &str) -> bool {
    const KNOWN: [&str; 37] = [
        "s", "sec", "ms", "us", "µs", "min", "h", "hh:mm:ss", "h:m:s", "rpm", "1/min", "min-1",
        "u/min", "tr/min", "rev/min", "%", "kpa", "bar", "mbar", "hpa", "psi", "pa", "v", "mv",
        "a", "nm", "kw", "hp", "km/h", "mph", "m/s", "hz", "kg/h", "l/h", "deg", "-", "mm",
    ];
    let bare = bare_unit(text);
    scale(&bare).is_some() || KNOWN.contains(&bare.as_str())
}

/// What a column may be.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Role {
    /// A display of a group of like names, and its number.
    Display(Group, u32),
    /// The time; lower is likelier.
    Time(u8),
    /// Engine speed; lower is likelier.
    Speed(u8),
    /// Load; lower is likelier.
    Load(u8),
    /// Voltage of the supply.
    Supply,
}

/// Displays of like names.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Group {
    pub(super) site: Site,
    /// The words without the number.
    pub(super) words: String,
}

/// Where the probes of a group are.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Site {
    Exhaust,
    Unsaid,
    Head,
}

const TIME: [&str; 11] = [
    "time",
    "zeit",
    "timestamp",
    "datetime",
    "elapsed",
    "t",
    "temps",
    "sec",
    "seconds",
    "ms",
    "date",
];
const SPEED: [&str; 9] =
    ["rpm", "drehzahl", "motordrehzahl", "revs", "speed", "n", "umdrehungen", "régime", "regime"];
const NOT_ENGINE: [&str; 10] =
    ["vehicle", "fan", "wheel", "turbo", "gps", "road", "ground", "air", "pump", "target"];
/// Likeliest first.
const LOADS: [&[&str]; 5] = [
    &["load", "last", "motorlast", "charge"],
    &["throttle", "tps", "drosselklappe"],
    &["map", "saugrohrdruck"],
    &["boost", "ladedruck"],
    &["torque", "drehmoment", "pedal", "rack"],
];
const EXHAUST: [&str; 8] = ["egt", "exh", "exhaust", "abgas", "ausp", "auspuff", "runner", "pyro"];
const HEAD: [&str; 5] = ["cht", "head", "kopf", "zylinderkopf", "culasse"];
const PLAIN: [&str; 12] = [
    "cyl",
    "cylinder",
    "zyl",
    "zylinder",
    "cylindre",
    "t",
    "temp",
    "tc",
    "probe",
    "display",
    "channel",
    "temperature",
];
/// Words of temperatures that are no cylinder's.
const ELSEWHERE: [&str; 32] = [
    "oil",
    "öl",
    "oel",
    "coolant",
    "water",
    "wasser",
    "kühlmittel",
    "inlet",
    "intake",
    "ambient",
    "iat",
    "turbo",
    "turbine",
    "collector",
    "fuel",
    "avg",
    "mean",
    "mittel",
    "max",
    "min",
    "diff",
    "delta",
    "spread",
    "gearbox",
    "post",
    "sammler",
    "air",
    "box",
    "ref",
    "junction",
    "inj",
    "lambda",
];

/// What a name says.
pub(super) fn role(name: &Name) -> Option<Role> {
    let words = &name.words;
    let numbers: Vec<u32> =
        words.iter().filter(|w| is_number(w)).filter_map(|w| w.parse().ok()).collect();
    let temperature = name.unit.is_empty() || scale(&name.unit).is_some() || name.unit == "°";
    let known = name.hints(&EXHAUST) || name.hints(&HEAD) || name.has(&PLAIN);
    if let (Some(&number), true, true) = (numbers.last(), temperature, known)
        && !name.has(&ELSEWHERE)
        && number <= 64
    {
        let site = if name.hints(&HEAD) {
            Site::Head
        } else if name.hints(&EXHAUST) {
            Site::Exhaust
        } else {
            Site::Unsaid
        };
        let last = words.iter().rposition(|w| is_number(w)).unwrap_or(0);
        let rest = words.iter().enumerate().filter(|(i, _)| *i != last).map(|(_, w)| w.as_str());
        let words = rest.collect::<Vec<_>>().join(" ");
        return Some(Role::Display(Group { site, words }, number));
    }
    let turning = ["rpm", "1/min", "min-1", "u/min", "tr/min", "rev/min"];
    if turning.contains(&name.unit.as_str()) && !name.has(&NOT_ENGINE) {
        return Some(Role::Speed(0));
    }
    if name.has(&SPEED) && !name.has(&NOT_ENGINE) && name.unit != "km/h" && name.unit != "mph" {
        return Some(Role::Speed(u8::from(!name.has(&["rpm", "drehzahl", "motordrehzahl"]))));
    }
    for (rank, list) in (0..).zip(LOADS) {
        if name.has(list) && scale(&name.unit).is_none() {
            return Some(Role::Load(rank));
        }
    }
    if name.has(&["battery", "supply", "batterie", "bordspannung", "volts", "voltage"]) {
        return Some(Role::Supply);
    }
    if name.has(&TIME) && (scale(&name.unit).is_none()) {
        let clear = name.has(&["time", "zeit", "timestamp", "datetime", "elapsed"]);
        return Some(Role::Time(if name.has(&["date"]) && !clear { 2 } else { u8::from(!clear) }));
    }
    None
}

/// Columns of each group by number.
pub(super) fn groups(roles: &[Option<Role>]) -> BTreeMap<Group, BTreeMap<u32, usize>> {
    let mut groups: BTreeMap<Group, BTreeMap<u32, usize>> = BTreeMap::new();
    for (column, role) in roles.iter().enumerate() {
        if let Some(Role::Display(group, number)) = role {
            groups.entry(group.clone()).or_default().entry(*number).or_insert(column);
        }
    }
    groups
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of(name: &str, unit: &str) -> Option<Role> {
        role(&Name::of(name, unit))
    }

    #[test]
    fn names_of_the_trade_are_known() {
        use Site::{Exhaust, Head, Unsaid};
        for (name, unit, site, number) in [
            ("EGT1", "", Exhaust, 1),
            ("EGT 12 [°C]", "", Exhaust, 12),
            ("Cyl 3", "", Unsaid, 3),
            ("T_exh_4", "", Exhaust, 4),
            ("CHT 2", "°F", Head, 2),
            ("Abgastemperatur 1", "°C", Exhaust, 1),
            ("Zylinderkopf 6 (C)", "", Head, 6),
            ("exhaust temp cyl 5 degF", "", Exhaust, 5),
            ("T3_F", "", Unsaid, 3),
        ] {
            match of(name, unit) {
                Some(Role::Display(group, n)) => {
                    assert_eq!((group.site, n), (site, number), "{name}");
                }
                other => panic!("{name}: {other:?}"),
            }
        }
        for (name, unit, expected) in [
            ("Time", "s", Some(Role::Time(0))),
            ("Zeit [ms]", "", Some(Role::Time(0))),
            ("t", "", Some(Role::Time(1))),
            ("Date", "", Some(Role::Time(2))),
            ("RPM", "", Some(Role::Speed(0))),
            ("Drehzahl", "1/min", Some(Role::Speed(0))),
            ("Engine speed", "", Some(Role::Speed(1))),
            ("Vehicle speed", "km/h", None),
            ("Load [%]", "", Some(Role::Load(0))),
            ("Throttle", "%", Some(Role::Load(1))),
            ("MAP", "kPa", Some(Role::Load(2))),
            ("Battery", "V", Some(Role::Supply)),
            ("Oil temp 1", "°C", None),
            ("Turbine inlet 1", "°C", None),
            ("Inj 3", "ms", None),
            ("Lambda 1", "-", None),
            ("note", "", None),
        ] {
            assert_eq!(of(name, unit), expected, "{name}");
        }
    }

    #[test]
    fn units_are_found_wherever_they_stand() {
        for (name, unit, expected) in [
            ("EGT1 [°C]", "", Some(LogScale::Celsius)),
            ("EGT1 (F)", "", Some(LogScale::Fahrenheit)),
            ("EGT1", "[K]", Some(LogScale::Kelvin)),
            ("EGT1 °C", "", Some(LogScale::Celsius)),
            ("EGT1_degF", "", Some(LogScale::Fahrenheit)),
            ("EGT1", "", None),
        ] {
            assert_eq!(scale(&Name::of(name, unit).unit), expected, "{name} {unit}");
        }
        assert!(is_unit("[°C]") && is_unit("1/min") && is_unit("K") && !is_unit("EGT 1"));
    }
}

//! Turns typed values into readings.
//!
//! Pure, shared by the command line and the guided session. It must not know which set the
//! readings belong to.

use thiserror::Error;

use super::check::EntryError;
use super::entry::{Journal, Reading, What};
use measure::readings::outlier::median;
use measure::units::{Celsius, Scale, UnitError};

/// Why something typed is no reading.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum ValueError {
    /// Not one for each display.
    #[error(transparent)]
    Count(#[from] EntryError),
    /// Neither a number nor one of the words.
    #[error(
        "`{0}` is not a reading: expected a number, `open`, `stuck`, `falling`, or `LO..HI` for a \
         display that jumps"
    )]
    NotReading(String),
    /// A label that is not of the display in this place.
    #[error("`{typed}` stands in the place of display {display}: one per display, in order")]
    Order {
        /// What was typed.
        typed: String,
        /// The display of this place.
        display: usize,
    },
    /// A comma that can be neither a decimal comma nor a list.
    #[error("`{0}`: separate readings with spaces; a comma stands for a decimal point only")]
    Comma(String),
    /// Both ends of a jump are the same.
    #[error("`{0}` does not jump: give one number")]
    NoJump(String),
    /// A temperature that cannot be.
    #[error("`{given}`: {error}{}", fahrenheit(*.scale))]
    Impossible {
        /// What was typed.
        given: String,
        /// The scale it was taken on.
        scale: Scale,
        /// What is wrong.
        error: UnitError,
    },
}

/// A hint for a number that was taken as °F.
fn fahrenheit(scale: Scale) -> &'static str {
    match scale {
        Scale::Celsius => "",
        Scale::Fahrenheit => "; it was taken as °F",
    }
}

/// Reads one value per display; plain numbers are on `scale`.
///
/// # Errors
/// When there is not one for each cylinder, or one is no reading.
pub fn readings<S: AsRef<str>>(
    typed: &[S],
    scale: Scale,
    cylinders: u8,
) -> Result<Vec<Reading>, ValueError> {
    // A value that is no reading explains a wrong count, so it is named first.
    let list: Result<Vec<Reading>, ValueError> = (1..)
        .zip(typed)
        .map(|(display, typed)| reading(unlabelled(typed.as_ref(), display)?, scale))
        .collect();
    let list = list?;
    if list.len() != usize::from(cylinders) {
        let given = list.len();
        return Err(EntryError::Count { given, cylinders }.into());
    }
    Ok(list)
}

/// A value without the label of its display, as in `T1=512`.
fn unlabelled(typed: &str, display: usize) -> Result<&str, ValueError> {
    let Some((label, value)) = typed.split_once('=') else { return Ok(typed) };
    let number = label.trim().trim_start_matches(|c: char| !c.is_ascii_digit());
    match number.parse::<usize>() {
        Ok(given) if given != display => {
            Err(ValueError::Order { typed: typed.to_owned(), display })
        }
        Ok(_) => Ok(value),
        Err(_) => Err(ValueError::NotReading(typed.to_owned())),
    }
}

/// What is wrong with the scale of a line in which some numbers name one and another goes by the
/// usual one, though it would lie nearer to them on theirs.
#[must_use]
pub fn mixed<S: AsRef<str>>(typed: &[S], scale: Scale) -> Option<String> {
    let other = match scale {
        Scale::Celsius => Scale::Fahrenheit,
        Scale::Fahrenheit => Scale::Celsius,
    };
    let named: Vec<(&str, f64)> = typed
        .iter()
        .map(AsRef::as_ref)
        .filter(|typed| suffix(&typed.to_lowercase()).1 == Some(other))
        .filter_map(|typed| Some((typed, reading(typed, scale).ok()?.middle()?)))
        .collect();
    let (example, _) = *named.first()?;
    let middle = median(&named.iter().map(|(_, t)| *t).collect::<Vec<_>>())?;
    let far = |typed: &str, scale| Some((reading(typed, scale).ok()?.middle()? - middle).abs());
    let bare = typed.iter().map(AsRef::as_ref).find(|typed| {
        suffix(&typed.to_lowercase()).1.is_none()
            && matches!((far(typed, scale), far(typed, other)), (Some(own), Some(theirs)) if own > theirs)
    })?;
    Some(format!(
        "`{bare}` names no scale beside `{example}`, and would be taken as {}: say the scale of each, or \
         of all with `--units`",
        scale.sign()
    ))
}

/// How near two readings of one display at one running point are at most, as a share, when only the scale was
/// mistaken: an engine is not held the same twice. °C and °F lie apart by more than half of either.
const ALIKE: f64 = 0.15;

/// An earlier set of the same running point to which every display would be near if these had been typed on
/// the other scale, while on this one all are far off: its entry. `but` is left out, as it is to be replaced.
#[must_use]
pub fn other_scale(journal: &Journal, what: &What, scale: Scale, but: usize) -> Option<usize> {
    let What::Temps { at, site, readings, .. } = what else { return None };
    let standing = journal.standing();
    let (number, earlier) =
        standing.iter().rev().find_map(|(number, entry)| match &entry.what {
            What::Temps { at: a, site: s, readings, .. }
                if (a, s) == (at, site) && *number != but =>
            {
                Some((*number, readings))
            }
            _ => None,
        })?;
    let swapped = |t: f64| match scale {
        Scale::Celsius => (t - 32.0) / 1.8,
        Scale::Fahrenheit => t * 1.8 + 32.0,
    };
    let near = |a: f64, b: f64| (a - b).abs() <= ALIKE * b.abs();
    let pairs: Vec<(f64, f64)> = readings
        .iter()
        .zip(earlier)
        .filter_map(|(new, old)| Some((new.middle()?, old.middle()?)))
        .collect();
    let mistaken = pairs.iter().all(|&(new, old)| near(swapped(new), old) && !near(new, old));
    (pairs.len() >= 2 && mistaken).then_some(number)
}

/// What is said of readings that are like those of an entry on the other scale.
#[must_use]
pub fn on_the_other(scale: Scale, entry: usize) -> String {
    let other = match scale {
        Scale::Celsius => Scale::Fahrenheit,
        Scale::Fahrenheit => Scale::Celsius,
    };
    format!(
        "as {} all displays are far from entry {entry}, as {} they would be like it",
        scale.sign(),
        other.sign()
    )
}

/// The greatest whole number that is a reading on a scale.
#[must_use]
pub fn most(scale: Scale) -> u32 {
    match scale {
        Scale::Celsius => 1820,
        Scale::Fahrenheit => 3308,
    }
}

/// The values of a line; a unit that stands alone belongs to the number before it.
#[must_use]
pub fn parted(line: &str) -> Vec<String> {
    let mut values: Vec<String> = Vec::new();
    // Quotes come along where a line is pasted.
    let between = [' ', '\t', '\n', '\r', ';', '/', '|', '"', '\''];
    for word in line.split(between).filter(|word| !word.is_empty()) {
        let bare = word.trim_start_matches(['°', 'º']);
        let unit = bare.to_lowercase();
        let unit = unit.strip_prefix("deg").unwrap_or(&unit);
        match values.last_mut() {
            Some(last) if ["c", "f", "", "℃", "℉"].contains(&unit) => {
                last.push_str(unit);
            }
            // A comma at the end of a value parts it from the next.
            _ => values.push(word.trim_end_matches(',').to_owned()),
        }
    }
    values.retain(|value| !value.is_empty());
    values
}

/// Above this median, °C, nobody's engine is cold soaked: hotter than any yard.
pub const NOT_SOAKED: f64 = 60.0;

/// Whether most displays are too hot for an engine that was left untouched.
#[must_use]
pub fn hot_for_cold_soak(readings: &[Reading]) -> bool {
    let mut numbers: Vec<f64> = readings.iter().filter_map(|r| r.middle()).collect();
    numbers.sort_by(f64::total_cmp);
    numbers.get(numbers.len() / 2).is_some_and(|middle| *middle > NOT_SOAKED)
}

/// Reads one value.
///
/// # Errors
/// When it is no reading.
pub fn reading(typed: &str, scale: Scale) -> Result<Reading, ValueError> {
    let text = typed.trim().to_lowercase();
    // What meters and boxes show for an open loop.
    let dashes = text.chars().count() > 1 && text.chars().all(|c| matches!(c, '-' | '−'));
    match text.as_str() {
        _ if dashes => return Ok(Reading::Open),
        "open" | "ol" | "o.l." | "o.l" | "err" | "error" | "n/a" => return Ok(Reading::Open),
        "stuck" => return Ok(Reading::Stuck),
        "falling" => return Ok(Reading::Falling),
        _ => {}
    }
    if let Some((lo, hi)) = text.split_once("..") {
        let (hi, sign) = suffix(hi);
        let (lo, own) = suffix(lo);
        let hi = degrees(hi, sign.unwrap_or(scale), typed)?;
        let lo = degrees(lo, own.or(sign).unwrap_or(scale), typed)?;
        if (hi.value() - lo.value()).abs() < f64::EPSILON {
            return Err(ValueError::NoJump(typed.to_owned()));
        }
        return Ok(if lo < hi {
            Reading::Erratic { lo, hi }
        } else {
            Reading::Erratic { lo: hi, hi: lo }
        });
    }
    let (number, sign) = suffix(&text);
    Ok(Reading::Degrees(degrees(number, sign.unwrap_or(scale), typed)?))
}

/// What may stand between a number and the letter of its scale.
const SIGN: [char; 3] = [' ', '°', 'º'];

/// Splits off a unit, as in `652C`, `1205 °F`.
fn suffix(text: &str) -> (&str, Option<Scale>) {
    let text = text.trim();
    let (number, sign) = if let Some(number) = text.strip_suffix(['c', '℃']) {
        (number, Some(Scale::Celsius))
    } else if let Some(number) = text.strip_suffix(['f', '℉']) {
        (number, Some(Scale::Fahrenheit))
    } else {
        return (text, None);
    };
    let number = number.trim_end();
    // As in `441degC`.
    let number = number.strip_suffix("deg").unwrap_or(number);
    (number.trim_end_matches(SIGN), sign)
}

/// Reads a number with a decimal point or comma.
fn degrees(number: &str, scale: Scale, typed: &str) -> Result<Celsius, ValueError> {
    let mut plain = number.replace('−', "-");
    if let Some((_, after)) = plain.split_once(',') {
        // `652,648` is a list or a thousands mark, never a thermometer.
        if after.contains([',', '.']) || after.len() > 2 {
            return Err(ValueError::Comma(typed.to_owned()));
        }
        plain = plain.replace(',', ".");
    }
    // Rust would also take `inf`, `nan` and `1e3`, which nobody reads off a display.
    let digits = plain.chars().any(|c| c.is_ascii_digit());
    let clean = plain.chars().all(|c| c.is_ascii_digit() || "+-.".contains(c));
    let value: f64 = plain
        .parse()
        .ok()
        .filter(|_| digits && clean)
        .ok_or_else(|| ValueError::NotReading(typed.to_owned()))?;
    let impossible = |error| ValueError::Impossible { given: typed.to_owned(), scale, error };
    let read = scale.read(value).map_err(impossible)?;
    match scale {
        Scale::Celsius => Ok(read),
        // No display shows hundredths; a long tail of digits would only clutter the file.
        Scale::Fahrenheit => {
            Celsius::new((read.value() * 100.0).round() / 100.0).map_err(impossible)
        }
    }
}

/// A reading as it could be typed.
#[must_use]
pub fn written(reading: Reading, scale: Scale) -> String {
    let number = |t: Celsius| ((scale.show(t) * 10.0).round() / 10.0).to_string();
    match reading {
        Reading::Degrees(t) => number(t),
        Reading::Erratic { lo, hi } => format!("{}..{}", number(lo), number(hi)),
        Reading::Open => "open".to_owned(),
        Reading::Stuck => "stuck".to_owned(),
        Reading::Falling => "falling".to_owned(),
    }
}

/// A length in millimetres as typed, with a point or a comma.
///
/// # Errors
/// When it is no number.
pub fn millimetres(given: &str) -> Result<f64, String> {
    let number = given.trim().trim_end_matches("mm").trim().replace(',', ".");
    match number.parse::<f64>() {
        Ok(length) if length.is_finite() => Ok(length),
        _ => Err("expected millimetres, as `20` or `20,5`".to_owned()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn c(value: f64) -> Celsius {
        Celsius::new(value).expect("in range")
    }

    #[test]
    fn values_are_read_as_the_trade_writes_them() {
        let cases = [
            ("652", Scale::Celsius, Reading::Degrees(c(652.0))),
            ("652.5", Scale::Celsius, Reading::Degrees(c(652.5))),
            ("652,5", Scale::Celsius, Reading::Degrees(c(652.5))),
            ("-4", Scale::Celsius, Reading::Degrees(c(-4.0))),
            ("−4", Scale::Celsius, Reading::Degrees(c(-4.0))),
            ("212F", Scale::Celsius, Reading::Degrees(c(100.0))),
            ("212 °F", Scale::Celsius, Reading::Degrees(c(100.0))),
            ("441degC", Scale::Celsius, Reading::Degrees(c(441.0))),
            ("212 deg F", Scale::Celsius, Reading::Degrees(c(100.0))),
            ("441℃", Scale::Fahrenheit, Reading::Degrees(c(441.0))),
            ("212", Scale::Fahrenheit, Reading::Degrees(c(100.0))),
            ("100C", Scale::Fahrenheit, Reading::Degrees(c(100.0))),
            ("1205", Scale::Fahrenheit, Reading::Degrees(c(651.67))),
            ("Open", Scale::Celsius, Reading::Open),
            ("OL", Scale::Celsius, Reading::Open),
            ("---", Scale::Celsius, Reading::Open),
            ("stuck", Scale::Celsius, Reading::Stuck),
            ("falling", Scale::Celsius, Reading::Falling),
            ("640..655", Scale::Celsius, Reading::Erratic { lo: c(640.0), hi: c(655.0) }),
            ("212..32F", Scale::Celsius, Reading::Erratic { lo: c(0.0), hi: c(100.0) }),
        ];
        for (typed, scale, expected) in cases {
            assert_eq!(reading(typed, scale), Ok(expected), "{typed}");
        }
    }

    #[test]
    fn what_is_no_reading_is_named() {
        for typed in ["", "hot", "inf", "nan", "1e3", "6 5 2", "..", "652..", "--5", "F"] {
            assert_eq!(
                reading(typed, Scale::Celsius),
                Err(ValueError::NotReading(typed.to_owned())),
                "{typed}"
            );
        }
        for typed in ["652,648", "1,205.5", "1,2,3"] {
            let error = reading(typed, Scale::Celsius);
            assert_eq!(error, Err(ValueError::Comma(typed.to_owned())));
        }
        let flat = reading("650..650", Scale::Celsius);
        assert_eq!(flat, Err(ValueError::NoJump("650..650".to_owned())));
    }

    #[test]
    fn impossible_temperatures_point_at_the_scale() {
        let message = |typed, scale| reading(typed, scale).expect_err("refused").to_string();
        assert_eq!(
            message("2400", Scale::Celsius),
            "`2400`: 2400 °C cannot be right here: expected −60 to 1820 °C (is it in °F?)"
        );
        assert!(message("3500", Scale::Fahrenheit).ends_with("it was taken as °F"));
    }

    #[test]
    fn the_greatest_number_is_a_reading_and_one_more_is_none() {
        for scale in [Scale::Celsius, Scale::Fahrenheit] {
            let most = most(scale);
            assert!(reading(&most.to_string(), scale).is_ok());
            assert!(reading(&(most + 1).to_string(), scale).is_err());
        }
    }

    #[test]
    fn the_count_must_be_the_engines() {
        let error = readings(&["1", "2", "3"], Scale::Celsius, 4).expect_err("refused");
        assert_eq!(
            error.to_string(),
            "3 readings given, this engine has 4 cylinders: one per display, in order"
        );
        assert!(readings(&["1", "2", "3", "open"], Scale::Celsius, 4).is_ok());
    }

    #[test]
    fn labels_are_held_against_the_order() {
        let read = readings(&["T1=512", "T2=OL"], Scale::Celsius, 2).expect("read");
        assert_eq!(read, [Reading::Degrees(c(512.0)), Reading::Open]);
        let error = readings(&["T2=512", "T1=498"], Scale::Celsius, 2).expect_err("crossed");
        assert!(error.to_string().contains("in the place of display 1"), "{error}");
    }

    #[test]
    fn a_line_of_two_scales_is_noticed() {
        let line = parted("954F 940F 928f 948°F 826 959 F");
        assert_eq!(line.len(), 6);
        assert!(mixed(&line, Scale::Celsius).is_some_and(|m| m.contains("`826`")));
        assert_eq!(mixed(&line, Scale::Fahrenheit), None);
        assert_eq!(mixed(&["954F", "open"], Scale::Celsius), None);
        assert_eq!(mixed(&["500", "501C"], Scale::Celsius), None);
        assert_eq!(mixed(&["212", "212", "100C"], Scale::Fahrenheit), None);
    }

    #[test]
    fn a_line_is_parted_as_people_write() {
        for (line, expected) in [
            ("200 200 320 200", &["200", "200", "320", "200"][..]),
            ("200, 201,5, 320", &["200", "201,5", "320"]),
            ("200;  201 ; open", &["200", "201", "open"]),
            ("392 °F 400F 410 f", &["392f", "400F", "410f"]),
            ("\"512 505\" 500 deg C\t'498' 497 degc", &["512", "505", "500c", "498", "497c"]),
            (" , ", &[]),
        ] {
            assert_eq!(parted(line), expected, "{line}");
        }
    }
}

//! Numbers in plain words: chances, minutes, money, temperatures, counts.
//!
//! Everything a page says about a quantity is worded here, so that one quantity reads the
//! same on every page.

use facts::job::entry::Reading;
pub use measure::percent::percent;
use measure::units::{Celsius, Cost, Scale, TempDelta};

/// From this probability up, in this word. The only scale there is: every page takes it from here.
const LIKELIHOODS: [(f64, &str); 7] = [
    (0.95, "almost certain"),
    (0.80, "very likely"),
    (0.60, "probably"),
    (0.40, "toss-up"),
    (0.20, "possible"),
    (0.05, "unlikely"),
    (0.0, "very unlikely"),
];

/// How sure a probability is, on a scale of seven words.
#[must_use]
pub fn likelihood(probability: f64) -> &'static str {
    let word = LIKELIHOODS.iter().find(|(from, _)| probability >= *from);
    word.map_or("very unlikely", |(_, word)| word)
}

/// The same in front of a clause: "Very likely the probe is ...".
#[must_use]
pub fn surely(probability: f64) -> &'static str {
    match likelihood(probability) {
        "almost certain" => "almost certainly",
        "toss-up" => "perhaps",
        "possible" => "possibly",
        other => other,
    }
}

/// A probability as word and figure: "very likely, 87 %".
#[must_use]
pub fn chance(probability: f64) -> String {
    format!("{}, {}", likelihood(probability), percent(probability))
}

/// A share above something, in per cent with one decimal below ten.
#[must_use]
pub fn excess(share: f64) -> String {
    if !share.is_finite() {
        "an unknown share".to_owned()
    } else if share < 0.0995 {
        format!("{:.1} %", share * 100.0)
    } else {
        format!("{:.0} %", (share * 100.0).ceil())
    }
}

/// Minutes as "25 min", "1 h 40" or "8 h".
#[must_use]
pub fn minutes(minutes: f64) -> String {
    if !minutes.is_finite() {
        return "an unknown time".to_owned();
    }
    if minutes > 0.0 && minutes < 0.5 {
        return "under 1 min".to_owned();
    }
    let whole = minutes.round().max(0.0);
    let hours = (whole / 60.0).floor();
    let rest = whole - hours * 60.0;
    if hours < 1.0 {
        format!("{whole:.0} min")
    } else if rest < 0.5 {
        format!("{hours:.0} h")
    } else {
        format!("{hours:.0} h {rest:02.0}")
    }
}

/// An amount of money as a plain number, without decimals if there are none.
#[must_use]
pub fn money(amount: f64) -> String {
    let cents = (amount * 100.0).round();
    if (cents % 100.0).abs() < 0.5 {
        format!("{:.0}", cents / 100.0)
    } else {
        format!("{:.2}", cents / 100.0)
    }
}

/// A cost as "12 min hands-on, 30 min waiting, parts 45"; what is nil is left out.
#[must_use]
pub fn cost(cost: Cost) -> String {
    cost_in(cost, "")
}

/// The same with the currency of its parts, where one was said.
#[must_use]
pub fn cost_in(cost: Cost, currency: &str) -> String {
    let mut parts = vec![format!("{} hands-on", minutes(cost.hands_on))];
    if cost.wait > 0.0 {
        parts.push(format!("{} waiting", minutes(cost.wait)));
    }
    if cost.parts > 0.0 {
        let parts_cost = format!("parts {} {}", money(cost.parts), currency.trim());
        parts.push(parts_cost.trim_end().to_owned());
    } else {
        parts.push("no parts".to_owned());
    }
    parts.join(", ")
}

/// A count with its noun: "1 test", "3 tests".
#[must_use]
pub fn count(n: usize, one: &str, more: &str) -> String {
    format!("{n} {}", if n == 1 { one } else { more })
}

/// A temperature with its sign.
#[must_use]
pub fn temperature(temperature: Celsius, scale: Scale) -> String {
    format!("{} {}", whole(scale.show(temperature)), scale.sign())
}

/// A difference of temperatures, signed, with its unit. `kelvin` is in °C steps.
#[must_use]
pub fn difference(kelvin: f64, scale: Scale) -> String {
    format!("{} {}", bare_difference(kelvin, scale), scale.sign())
}

/// A difference of temperatures, signed, for a column that names the unit.
#[must_use]
pub fn bare_difference(kelvin: f64, scale: Scale) -> String {
    let shown = whole(scale.show_delta(TempDelta(kelvin)));
    if shown.starts_with('-') || shown == "0" { shown } else { format!("+{shown}") }
}

/// What a display showed, for a column or list that names the unit.
#[must_use]
pub fn reading(reading: Reading, scale: Scale) -> String {
    match reading {
        Reading::Degrees(t) => whole(scale.show(t)),
        Reading::Erratic { lo, hi } => {
            format!("{}..{}", whole(scale.show(lo)), whole(scale.show(hi)))
        }
        Reading::Open => "open".to_owned(),
        Reading::Stuck => "stuck".to_owned(),
        Reading::Falling => "falling".to_owned(),
    }
}

/// How many natural spreads, signed, with one decimal.
#[must_use]
pub fn spreads(sigmas: f64) -> String {
    let text = format!("{sigmas:+.1}");
    match text.as_str() {
        "+0.0" | "-0.0" => "0.0".to_owned(),
        _ => text,
    }
}

/// What a factor on the odds does, from its natural logarithm.
#[must_use]
pub fn odds_factor(log: f64) -> String {
    let factor = log.abs().exp();
    let way = if log > 0.0 { "likelier" } else { "less likely" };
    if log.is_nan() || factor < 1.05 {
        "no change".to_owned()
    } else if factor > 1000.0 {
        format!("over 1000 times {way}")
    } else if factor < 9.95 {
        format!("{factor:.1} times {way}")
    } else {
        format!("{factor:.0} times {way}")
    }
}

/// A list as "a, b and c".
#[must_use]
pub fn list(items: &[String]) -> String {
    match items {
        [] => String::new(),
        [one] => one.clone(),
        [rest @ .., last] => format!("{} and {last}", rest.join(", ")),
    }
}

/// With a capital at the start.
#[must_use]
pub fn upper_first(text: &str) -> String {
    let mut chars = text.chars();
    chars.next().map_or_else(String::new, |first| first.to_uppercase().chain(chars).collect())
}

/// With a small letter at the start, unless it starts with an abbreviation ("HT lead").
#[must_use]
pub fn lower_first(text: &str) -> String {
    let mut chars = text.chars();
    let Some(first) = chars.next() else {
        return String::new();
    };
    if chars.clone().next().is_some_and(|c| !c.is_lowercase() && c != ' ') {
        return text.to_owned();
    }
    first.to_lowercase().chain(chars).collect()
}

/// Text as a sentence: a capital in front, a full stop behind.
#[must_use]
pub fn sentence(text: &str) -> String {
    let text = upper_first(text.trim());
    if text.is_empty() || text.ends_with(['.', '!', '?', ':']) { text } else { text + "." }
}

/// The first sentence of a text.
#[must_use]
pub fn first_sentence(text: &str) -> &str {
    text.split_inclusive(". ").next().map_or(text, str::trim_end)
}

/// A number without decimals, and never "-0".
pub(super) fn whole(value: f64) -> String {
    let text = format!("{value:.0}");
    if text == "-0" { "0".to_owned() } else { text }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn likelihood_words_start_where_they_should() {
        for (p, word) in [
            (1.0, "almost certain"),
            (0.95, "almost certain"),
            (0.949, "very likely"),
            (0.80, "very likely"),
            (0.79, "probably"),
            (0.60, "probably"),
            (0.59, "toss-up"),
            (0.40, "toss-up"),
            (0.39, "possible"),
            (0.20, "possible"),
            (0.19, "unlikely"),
            (0.05, "unlikely"),
            (0.049, "very unlikely"),
            (0.0, "very unlikely"),
        ] {
            assert_eq!(likelihood(p), word, "{p}");
        }
    }

    #[test]
    fn per_cent_never_rounds_to_certainty() {
        for (p, text) in [
            (0.0, "0 %"),
            (0.001, "under 1 %"),
            (0.005, "1 %"),
            (0.625, "63 %"),
            (0.9949, "99 %"),
            (0.995, "over 99 %"),
            (0.9999, "over 99 %"),
            (1.0, "over 99 %"),
        ] {
            assert_eq!(percent(p), text, "{p}");
        }
    }

    #[test]
    fn minutes_become_hours() {
        for (given, text) in [
            (0.0, "0 min"),
            (0.3, "under 1 min"),
            (25.0, "25 min"),
            (59.6, "1 h"),
            (61.0, "1 h 01"),
            (100.0, "1 h 40"),
            (480.0, "8 h"),
            (f64::INFINITY, "an unknown time"),
        ] {
            assert_eq!(minutes(given), text, "{given}");
        }
    }

    #[test]
    fn money_has_decimals_only_when_needed() {
        for (given, text) in [(45.0, "45"), (45.5, "45.50"), (0.0, "0"), (9.999, "10")] {
            assert_eq!(money(given), text);
        }
    }

    #[test]
    fn differences_carry_a_sign_and_scale_without_offset() {
        for (kelvin, scale, text) in [
            (53.6, Scale::Celsius, "+54 °C"),
            (-10.0, Scale::Fahrenheit, "-18 °F"),
            (0.2, Scale::Celsius, "0 °C"),
            (-0.2, Scale::Celsius, "0 °C"),
        ] {
            assert_eq!(difference(kelvin, scale), text);
        }
        let boiling = Celsius::new(100.0).expect("in range");
        assert_eq!(temperature(boiling, Scale::Fahrenheit), "212 °F");
        assert_eq!(spreads(-0.04), "0.0");
        assert_eq!(spreads(3.24), "+3.2");
    }

    #[test]
    fn factors_read_as_times() {
        for (log, text) in [
            (0.0, "no change"),
            (2f64.ln(), "2.0 times likelier"),
            (-(20f64.ln()), "20 times less likely"),
            (50.0, "over 1000 times likelier"),
            (f64::NEG_INFINITY, "over 1000 times less likely"),
        ] {
            assert_eq!(odds_factor(log), text);
        }
    }

    #[test]
    fn letters_at_the_start() {
        assert_eq!(lower_first("Look at it"), "look at it");
        assert_eq!(lower_first("HT lead"), "HT lead");
        assert_eq!(lower_first("A lead"), "a lead");
        assert_eq!(sentence("do it"), "Do it.");
        assert_eq!(sentence("Done."), "Done.");
        let items = ["a", "b", "c"].map(str::to_owned);
        assert_eq!(list(&items), "a, b and c");
        assert_eq!(list(&items[..1]), "a");
    }
}

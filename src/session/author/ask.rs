//! Questions that every piece of knowledge has, and how answers are written in RON.

use super::Shelves;
use crate::session::asker::{Asked, Line};
use crate::session::desk::Desk;
use facts::knowledge::{Knowledge, Thermal};
use pages::report::{terms, words};

/// A line of text that is taken once `read` can make something of it; a wrong one is kept to be
/// corrected.
pub(super) fn line<T>(
    desk: &mut Desk<'_>,
    (question, help): (&str, &str),
    default: &str,
    read: impl Fn(&str) -> Result<T, String>,
) -> Asked<T> {
    desk.line(Line { question, help, default, ..Line::default() }, |answer| {
        read(answer.trim()).map_err(|why| format!("{why}: correct the line"))
    })
}

/// A text that must be there and stand on one line.
pub(super) fn text(answer: &str) -> Result<String, String> {
    match answer.chars().count() {
        0 => Err("nothing was typed, and something must be".to_owned()),
        1..=200 => Ok(answer.to_owned()),
        n => Err(format!("{n} characters, where 200 are the most")),
    }
}

/// Longest id that is offered.
const LONGEST_ID: usize = 24;

/// A name made into an id.
pub(super) fn slug(name: &str) -> String {
    let mut id = String::new();
    for c in name.to_lowercase().chars() {
        if c.is_ascii_alphanumeric() {
            id.push(c);
        } else if !id.is_empty() && !id.ends_with('-') {
            id.push('-');
        }
    }
    // Cut between words, where there is a between.
    if id.len() > LONGEST_ID {
        id.truncate(LONGEST_ID + 1);
        id.truncate(id.rfind('-').unwrap_or(LONGEST_ID));
    }
    id.trim_end_matches('-').to_owned()
}

/// An id that nothing has yet.
pub(super) fn id(desk: &mut Desk<'_>, name: &str) -> Asked<String> {
    let knowledge = desk.knowledge;
    let default = slug(name);
    line(
        desk,
        ("Its id?", "small letters, digits and hyphens; never changed later, jobs name it"),
        &default,
        |answer| {
            let lawful = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-';
            if answer.is_empty() || answer.len() > 40 || !answer.chars().all(lawful) {
                return Err(format!("`{answer}` is no id of small letters, digits and hyphens"));
            }
            match taken(knowledge, answer) {
                Some(what) => Err(format!("there is {what} `{answer}` already")),
                None => Ok(answer.to_owned()),
            }
        },
    )
}

/// What has an id already.
fn taken(knowledge: &Knowledge, id: &str) -> Option<&'static str> {
    if knowledge.cause(id).is_some() {
        Some("a cause")
    } else if knowledge.test(id).is_some() {
        Some("a test")
    } else if knowledge.presets.iter().any(|preset| preset.id == id) {
        Some("an engine")
    } else {
        None
    }
}

/// A number from `low` to `high`.
pub(super) fn number(answer: &str, low: f64, high: f64) -> Result<f64, String> {
    let value: f64 = answer
        .replace(['−', '–'], "-")
        .replace(',', ".")
        .parse()
        .map_err(|_| format!("`{answer}` is no number"))?;
    if (low..=high).contains(&value) {
        Ok(value)
    } else {
        Err(format!("{answer} is not from {low} to {high}"))
    }
}

/// Several numbers, blanks between them.
pub(super) fn numbers(answer: &str, count: usize, low: f64, high: f64) -> Result<Vec<f64>, String> {
    let list: Vec<f64> =
        answer.split_whitespace().map(|word| number(word, low, high)).collect::<Result<_, _>>()?;
    if list.len() == count {
        Ok(list)
    } else {
        Err(format!("{} given, {count} wanted", words::count(list.len(), "number", "numbers")))
    }
}

/// Hands-on and waiting minutes.
pub(super) fn minutes(desk: &mut Desk<'_>, question: &str, default: &str) -> Asked<(f64, f64)> {
    let help = "without opening anything and without the way to the engine's state; two numbers";
    line(desk, (question, help), default, |answer| {
        let list = numbers(answer, 2, 0.0, 10_000.0)?;
        Ok((list[0], list[1]))
    })
}

/// A class of parts.
pub(super) fn parts(desk: &mut Desk<'_>, shelves: Shelves<'_>, question: &str) -> Asked<String> {
    let choices: Vec<(String, String)> = shelves
        .parts
        .iter()
        .map(|(class, worth)| {
            (format!("{class}: {} of labour", words::minutes(*worth)), class.clone())
        })
        .collect();
    desk.pick(question, &choices, 0)
}

/// States of the engine, one at least.
pub(super) fn states(desk: &mut Desk<'_>, question: &str) -> Asked<Vec<&'static str>> {
    let labels: Vec<String> =
        Thermal::ALL.iter().map(|&s| format!("{s}: {}", terms::thermal(s))).collect();
    loop {
        let chosen = desk.asker.choose_many(question, &labels)?;
        let states: Vec<&'static str> =
            chosen.iter().filter_map(|&i| Thermal::ALL.get(i)).map(|s| s.as_str()).collect();
        if !states.is_empty() {
            return Ok(states);
        }
        desk.refuse("none is marked, and without one it could never be done: mark one or more")?;
    }
}

/// Several of what has an id; none is an answer.
pub(super) fn several(
    desk: &mut Desk<'_>,
    question: &str,
    list: &[(String, String)],
) -> Asked<Vec<String>> {
    if list.is_empty() {
        return Ok(Vec::new());
    }
    let room = desk.settings.width.saturating_sub(6);
    let labels: Vec<String> = list
        .iter()
        .map(|(id, name)| crate::session::sheet::short(&format!("{id}: {name}"), room))
        .collect();
    let chosen = desk.asker.choose_many(question, &labels)?;
    Ok(chosen.into_iter().filter_map(|i| list.get(i)).map(|(id, _)| id.clone()).collect())
}

/// What must be open.
pub(super) fn access(desk: &mut Desk<'_>) -> Asked<Vec<String>> {
    let list: Vec<(String, String)> =
        desk.knowledge.access.iter().map(|a| (a.id.clone(), a.name.clone())).collect();
    several(desk, "What must be open or out for it?", &list)
}

/// Warnings.
pub(super) fn cautions(desk: &mut Desk<'_>) -> Asked<Vec<String>> {
    let list: Vec<(String, String)> =
        desk.knowledge.cautions.iter().map(|c| (c.id.clone(), c.text.clone())).collect();
    several(desk, "Which warnings belong to it?", &list)
}

/// Where the figures come from, as RON.
pub(super) fn basis(desk: &mut Desk<'_>) -> Asked<String> {
    let choices = [
        ("from memory, nobody looked it up", 'm'),
        ("common practice of the trade, no source", 'p'),
        ("worked out or counted: say how", 'c'),
    ];
    let choices: Vec<(String, char)> = choices.map(|(t, c)| (t.to_owned(), c)).to_vec();
    Ok(match desk.pick("Where do these figures come from?", &choices, 0)? {
        'p' => "practice".to_owned(),
        'c' => {
            let how = line(desk, ("How?", "as: counted in 14 own jobs of 2025"), "", text)?;
            format!("computed({})", quoted(&how))
        }
        _ => "memory".to_owned(),
    })
}

/// A text as RON has it.
pub(super) fn quoted(text: &str) -> String {
    ron::to_string(text).unwrap_or_else(|_| "\"\"".to_owned())
}

/// A list of texts as RON has it.
pub(super) fn list(texts: &[impl AsRef<str>]) -> String {
    let texts: Vec<String> = texts.iter().map(|text| quoted(text.as_ref())).collect();
    format!("[{}]", texts.join(", "))
}

/// Chances of outcomes as typed, in per cent or as shares, made to sum to one.
pub(super) fn row(answer: &str, count: usize) -> Result<Vec<f64>, String> {
    let given = numbers(answer, count, 0.0, 100.0)?;
    let sum: f64 = given.iter().sum();
    let whole = if (sum - 100.0).abs() <= 1.0 {
        100.0
    } else if (sum - 1.0).abs() <= 0.01 {
        1.0
    } else {
        return Err(format!("together {sum}, where 100 (or 1) is wanted"));
    };
    // Rounded to thousandths; the largest takes up what rounding left.
    let mut row: Vec<f64> =
        given.iter().map(|chance| (chance / whole * 1000.0).round() / 1000.0).collect();
    let left = 1.0 - row.iter().sum::<f64>();
    if let Some(most) = row.iter_mut().max_by(|a, b| a.total_cmp(b)) {
        *most = ((*most + left) * 1000.0).round() / 1000.0;
    }
    Ok(row)
}

/// Numbers as RON has them.
pub(super) fn figures(row: &[f64]) -> String {
    let row: Vec<String> = row.iter().map(|chance| format!("{chance:?}")).collect();
    format!("[{}]", row.join(", "))
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    #[test]
    fn rows_are_taken_in_per_cent_or_as_shares() {
        assert_eq!(row("70 30", 2), Ok(vec![0.7, 0.3]));
        assert_eq!(row("0,7 0.3", 2), Ok(vec![0.7, 0.3]));
        assert_eq!(row("33 33 33", 3).map(|r| r.iter().sum::<f64>()), Ok(1.0));
        for (wrong, why) in [
            ("70", "1 number given, 2 wanted"),
            ("70 20", "together 90"),
            ("70 x", "`x` is no number"),
            ("-1 101", "is not from 0 to 100"),
        ] {
            let error = row(wrong, 2).expect_err("refused");
            assert!(error.contains(why), "{error}");
        }
    }

    #[test]
    fn a_name_becomes_an_id() {
        assert_eq!(slug("  Nut on the stem, loose!"), "nut-on-the-stem-loose");
        assert_eq!(slug("Ölkühler"), "lk-hler");
        assert_eq!(slug("…"), "");
    }

    proptest! {
        #[test]
        fn a_row_that_is_taken_sums_to_one(parts in prop::collection::vec(1..200u32, 2..6)) {
            let sum: u32 = parts.iter().sum();
            let typed: Vec<String> =
                parts.iter().map(|p| (f64::from(*p) * 100.0 / f64::from(sum)).to_string()).collect();
            let row = row(&typed.join(" "), parts.len()).expect("taken");
            prop_assert!((row.iter().sum::<f64>() - 1.0).abs() < 1e-9);
        }
    }
}

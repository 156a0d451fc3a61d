//! How a log is written, guessed from its start: delimiter, decimal sign, names, units, time,
//! and which column is what. Whatever was told is not guessed.
//!
//! It must not read beyond the start it is given.

use std::collections::{BTreeMap, BTreeSet};

use super::columns::{self, LogScale, Name, Role, Site};
use super::finding::{Code, Findings};
use super::number::number;
use super::parse::{Plan, Slot, shown};
use super::text::Encoding;
use super::time::TimeForm;
use super::{Form, LogError, Options, records};

/// Most columns of a log.
pub const MOST_COLUMNS: usize = 4096;
/// Most displays of a log.
pub const MOST_DISPLAYS: usize = 32;
/// Records that are looked at.
const LOOKED_AT: usize = 200;

type Row = (u64, Vec<String>);

/// Finds out how a log is written.
///
/// # Errors
/// When it is no table, or has no time or no displays, or what was told does not fit.
pub(super) fn sniff(
    start: &[u8],
    encoding: Encoding,
    options: &Options,
    findings: &mut Findings,
) -> Result<(Form, Plan), LogError> {
    if start.iter().all(u8::is_ascii_whitespace) {
        return Err(LogError::Empty);
    }
    if start.contains(&0) {
        return Err(LogError::Binary);
    }
    let (delimiter, point, rows) = table(start, encoding, options)?;
    let columns = usual_count(&rows);
    if columns > MOST_COLUMNS {
        return Err(LogError::TooManyColumns { given: columns });
    }
    let is_data = |row: &Row| row.1.len() == columns && mostly_numbers(&row.1, point);
    let Some(first) = rows.iter().position(is_data) else { return Err(LogError::NoNumbers) };
    let (names, units, header_line) = header(&rows[..first], columns, findings);
    let data: Vec<&Row> = rows[first..].iter().filter(|row| is_data(row)).collect();
    let taken: Vec<Name> = names.iter().zip(&units).map(|(n, u)| Name::of(n, u)).collect();
    let roles: Vec<Option<Role>> = taken.iter().map(columns::role).collect();
    let look = Look { options, names: &names, taken: &taken, roles: &roles, data: &data, point };
    let (time, time_form) = look.time(findings)?;
    let displays = look.displays(time, findings)?;
    let scales = look.scales(&displays, findings);
    let speed = look.one(options.speed.as_deref(), |role| match role {
        Role::Speed(rank) => Some(*rank),
        _ => None,
    })?;
    let load = look.one(options.load.as_deref(), |role| match role {
        Role::Load(rank) => Some(*rank),
        _ => None,
    })?;
    let supply = look.one(None, |role| matches!(role, Role::Supply).then_some(0))?;
    if speed.is_none() {
        findings.add(Code::NoSpeed, (0, 0), || {
            (
                "no column of engine speed: running points cannot be told apart".to_owned(),
                "`--speed COLUMN` names one".to_owned(),
            )
        });
    }
    let mut slots = vec![Slot::Skip; columns];
    for (place, (&column, &scale)) in displays.iter().zip(&scales).enumerate() {
        let (less, per) = scale.steps();
        slots[column] = Slot::Display(place, less, per);
    }
    let mut width = displays.len();
    for column in [speed, load, supply].into_iter().flatten() {
        if slots[column] == Slot::Skip {
            slots[column] = Slot::Other(width);
            width += 1;
        }
    }
    slots[time] = Slot::Time;
    let zone = time_form.read(data[0].1[time].as_bytes(), point).and_then(|moment| moment.zone);
    let place = |column: Option<usize>| {
        column.and_then(|column| match slots[column] {
            Slot::Other(place) => Some(place),
            _ => None,
        })
    };
    let form = Form {
        encoding,
        delimiter,
        point,
        header_line,
        names: names.clone(),
        time,
        time_form,
        displays,
        scales,
        speed: speed.filter(|c| place(Some(*c)).is_some()),
        load: load.filter(|c| place(Some(*c)).is_some()),
        load_in_percent: load.is_some_and(|column| taken[column].unit == "%"),
        supply: supply.filter(|c| place(Some(*c)).is_some()),
        speed_place: place(speed),
        load_place: place(load),
        supply_place: place(supply),
    };
    let skip = rows[first].0 - 1;
    let plan = Plan { delimiter, point, slots, names, width, time: time_form, zone, skip };
    Ok((form, plan))
}

/// Splits the start in every way and keeps the one that gives most numbers in rows of one length.
fn table(
    start: &[u8],
    encoding: Encoding,
    options: &Options,
) -> Result<(u8, u8, Vec<Row>), LogError> {
    let delimiters = options.delimiter.map_or_else(|| b";\t|,".to_vec(), |one| vec![one]);
    let points = options.point.map_or_else(|| b".,".to_vec(), |one| vec![one]);
    let mut best: Option<(f64, u8, u8, Vec<Row>)> = None;
    for &delimiter in &delimiters {
        let mut rows: Vec<Row> = Vec::new();
        records::each(start, delimiter, false, |record| {
            let fields = record.fields().take(MOST_COLUMNS + 1);
            let fields: Vec<String> =
                fields.map(|field| encoding.words(field).trim().to_owned()).collect();
            if fields.iter().any(|field| !field.is_empty()) {
                rows.push((record.line, fields));
            }
            rows.len() < LOOKED_AT
        });
        let columns = usual_count(&rows);
        for &point in &points {
            if columns < 2 || (point == delimiter && options.point.is_none()) {
                continue;
            }
            let fields = rows.iter().filter(|row| row.1.len() == columns).flat_map(|row| &row.1);
            let score: f64 = fields
                .filter(|field| !field.is_empty())
                .map(|field| if number(field.as_bytes(), point).is_some() { 1.0 } else { -0.4 })
                .sum();
            // Equal scores go to the delimiter that is no decimal sign, and to the point.
            if best.as_ref().is_none_or(|(most, ..)| score > *most) {
                best = Some((score, delimiter, point, rows.clone()));
            }
        }
    }
    best.map(|(_, delimiter, point, rows)| (delimiter, point, rows)).ok_or(LogError::NoTable)
}

/// The commonest number of fields; of equals the larger.
fn usual_count(rows: &[Row]) -> usize {
    let mut counts: BTreeMap<usize, usize> = BTreeMap::new();
    for row in rows {
        *counts.entry(row.1.len()).or_default() += 1;
    }
    counts
        .into_iter()
        .max_by_key(|&(length, times)| (times, length))
        .map_or(0, |(length, _)| length)
}

fn is_value(field: &str, point: u8) -> bool {
    number(field.as_bytes(), point).is_some() || !TimeForm::fitting(field.as_bytes()).is_empty()
}

fn mostly_numbers(fields: &[String], point: u8) -> bool {
    let filled = fields.iter().filter(|f| !f.is_empty()).count();
    let values = fields.iter().filter(|f| is_value(f, point)).count();
    values >= 2 && 2 * values >= filled
}

/// Names and units above the numbers; columns without a name get one by number.
fn header(
    above: &[Row],
    columns: usize,
    findings: &mut Findings,
) -> (Vec<String>, Vec<String>, u64) {
    // A delimiter at the end of one line only must not cost the header.
    let fits = |row: &&Row| row.1.len() + 1 >= columns && row.1.len() <= columns + 1;
    let mut rows: Vec<&Row> = above.iter().filter(fits).collect();
    let mut units = vec![String::new(); columns];
    let is_units = |row: &Row| {
        let filled: Vec<&String> = row.1.iter().filter(|f| !f.is_empty()).collect();
        filled.iter().filter(|f| columns::is_unit(f)).count() * 5 >= filled.len() * 4
    };
    if rows.len() > 1
        && let Some(last) = rows.pop_if(|row| is_units(row))
    {
        units.clone_from(&last.1);
        units.resize(columns, String::new());
    }
    let number = |column: usize| format!("column {}", column + 1);
    let Some(row) = rows.last() else {
        findings.add(Code::NoHeader, (1, 0), || {
            (
                "no row of names above the numbers".to_owned(),
                "columns are called by their number: `--time 1 --display 1=2`".to_owned(),
            )
        });
        return ((0..columns).map(number).collect(), units, 0);
    };
    let mut seen = BTreeSet::new();
    let names = (0..columns).map(|column| {
        let name = row.1.get(column).filter(|n| !n.is_empty()).cloned();
        let name = name.unwrap_or_else(|| number(column));
        if !seen.insert(name.to_lowercase()) {
            findings.add(Code::SameName, (row.0, column + 1), || {
                (
                    format!("two columns are named `{}`", shown(&name)),
                    "the first is taken where a name is given; columns can be given by number"
                        .to_owned(),
                )
            });
        }
        name
    });
    (names.collect(), units, row.0)
}

struct Look<'a> {
    options: &'a Options,
    names: &'a [String],
    taken: &'a [Name],
    roles: &'a [Option<Role>],
    data: &'a [&'a Row],
    point: u8,
}

impl Look<'_> {
    /// The column that was told, by name or by number.
    fn told(&self, given: &str) -> Result<usize, LogError> {
        let lower = given.trim().to_lowercase();
        let named = self.names.iter().position(|name| name.to_lowercase() == lower);
        let bare = || {
            let words = Name::of(given, "").words;
            self.taken.iter().position(|name| name.words == words && !words.is_empty())
        };
        let numbered = || {
            lower
                .parse::<usize>()
                .ok()
                .filter(|n| (1..=self.names.len()).contains(n))
                .map(|n| n - 1)
        };
        named.or_else(numbered).or_else(bare).ok_or_else(|| LogError::NoSuchColumn {
            given: given.to_owned(),
            names: self.names.to_vec(),
        })
    }

    /// A column that was told, or the likeliest by a ranking of roles.
    fn one(
        &self,
        told: Option<&str>,
        rank: impl Fn(&Role) -> Option<u8>,
    ) -> Result<Option<usize>, LogError> {
        if let Some(given) = told {
            return self.told(given).map(Some);
        }
        let ranked =
            self.roles.iter().enumerate().filter_map(|(column, role)| {
                role.as_ref().and_then(&rank).map(|rank| (rank, column))
            });
        Ok(ranked.min().map(|(_, column)| column))
    }

    fn numbers(&self, column: usize) -> Vec<f64> {
        let field = |row: &&&Row| number(row.1[column].as_bytes(), self.point);
        self.data.iter().filter_map(|row| field(&row)).collect()
    }

    fn time(&self, findings: &mut Findings) -> Result<(usize, TimeForm), LogError> {
        let mut candidates: Vec<usize> = Vec::new();
        if let Some(given) = &self.options.time {
            candidates.push(self.told(given)?);
        } else {
            let mut named: Vec<(u8, usize)> = Vec::new();
            for (column, role) in self.roles.iter().enumerate() {
                if let Some(Role::Time(rank)) = role {
                    named.push((*rank, column));
                }
            }
            named.sort_unstable();
            candidates.extend(named.into_iter().map(|(_, column)| column));
            let growing = |column: &usize| {
                let numbers = self.numbers(*column);
                self.roles[*column].is_none()
                    && numbers.len() > 2
                    && numbers.windows(2).all(|pair| pair[0] < pair[1])
            };
            candidates.extend((0..self.names.len()).filter(growing));
            let clocks =
                |column: &usize| !TimeForm::fitting(self.data[0].1[*column].as_bytes()).is_empty();
            candidates.extend((0..self.names.len()).filter(clocks));
        }
        for column in candidates {
            if let Some(form) = self.time_form(column, findings) {
                return Ok((column, form));
            }
        }
        Err(LogError::NoTime { names: self.names.to_vec() })
    }

    fn time_form(&self, column: usize, findings: &mut Findings) -> Option<TimeForm> {
        let texts: Vec<&str> = self.data.iter().map(|row| row.1[column].as_str()).collect();
        let numbers = self.numbers(column);
        if 2 * numbers.len() >= texts.len() {
            if let Some(form) = self.options.time_in {
                return Some(form);
            }
            let unit = self.taken[column].unit.as_str();
            let by_unit = |unit: &str| match unit {
                "s" | "sec" | "seconds" | "sek" => Some(TimeForm::Seconds),
                "ms" | "msec" | "millis" => Some(TimeForm::Milliseconds),
                "us" | "µs" => Some(TimeForm::Microseconds),
                "min" | "minutes" => Some(TimeForm::Minutes),
                _ => None,
            };
            let words = self.taken[column].words.iter().map(String::as_str);
            if let Some(form) = by_unit(unit).or_else(|| words.clone().find_map(by_unit)) {
                return Some(form);
            }
            // Whole numbers in steps of ten or more are hardly seconds of a temperature log.
            let mut steps: Vec<f64> = numbers.windows(2).map(|p| p[1] - p[0]).collect();
            steps.sort_by(f64::total_cmp);
            let middle = steps.get(steps.len() / 2).copied().unwrap_or(1.0);
            let whole = numbers.iter().all(|n| n.fract() == 0.0);
            let form =
                if whole && middle >= 10.0 { TimeForm::Milliseconds } else { TimeForm::Seconds };
            findings.add(Code::TimeUnit, (0, column + 1), || {
                (
                    format!("the unit of time is not said; taken as {}", form.name()),
                    "`--time-in s`, `ms` or `min` says it".to_owned(),
                )
            });
            return Some(form);
        }
        let fit = |form: &TimeForm| {
            let read = |text: &&&str| form.read(text.as_bytes(), self.point).is_some();
            2 * texts.iter().filter(read).count() > texts.len()
        };
        let mut forms = TimeForm::fitting(texts.iter().find(|t| !t.is_empty())?.as_bytes());
        forms.retain(fit);
        let all = |form: &TimeForm| {
            texts.iter().all(|text| form.read(text.as_bytes(), self.point).is_some())
        };
        let form = forms.iter().copied().find(all).or_else(|| forms.first().copied())?;
        if forms.len() > 1 {
            findings.add(Code::DateOrder, (0, column + 1), || {
                (
                    format!("day and month cannot be told apart; taken as {}", form.name()),
                    "it matters only if the log runs past midnight".to_owned(),
                )
            });
        }
        Some(form)
    }

    fn displays(&self, time: usize, findings: &mut Findings) -> Result<Vec<usize>, LogError> {
        let told = &self.options.displays;
        let mut by_number: BTreeMap<u32, usize> = BTreeMap::new();
        let groups = columns::groups(self.roles);
        let wanted = if self.options.head { Site::Head } else { Site::Exhaust };
        let rank = |site: Site| match site {
            site if site == wanted => 0,
            Site::Unsaid => 1,
            _ => 2,
        };
        let mut sorted: Vec<_> = groups.iter().filter(|(_, columns)| columns.len() > 1).collect();
        sorted.sort_by_key(|(group, columns)| (rank(group.site), std::cmp::Reverse(columns.len())));
        if let Some((group, columns)) = sorted.first() {
            by_number.clone_from(columns);
            if sorted.len() > 1 && told.is_empty() {
                findings.add(Code::Groups, (0, 0), || {
                    let others: Vec<&str> =
                        sorted[1..].iter().map(|(group, _)| group.words.as_str()).collect();
                    (
                        format!("`{} N` taken as displays, not {}", group.words, others.join(", ")),
                        "`--head` takes head probes, `--display N=COLUMN` any column".to_owned(),
                    )
                });
            }
        }
        if by_number.contains_key(&0) {
            findings.add(Code::FromNought, (0, 0), || {
                (
                    "columns are numbered from 0; the first is taken as display 1".to_owned(),
                    "`--display N=COLUMN` says otherwise".to_owned(),
                )
            });
            by_number =
                by_number.into_iter().map(|(number, column)| (number + 1, column)).collect();
        }
        if !told.is_empty() {
            // Told columns replace guessed ones; a full list replaces them all.
            let from_one = told.keys().copied().eq(1..=u8::try_from(told.len()).unwrap_or(u8::MAX));
            if from_one && told.len() > 1 {
                by_number.clear();
            }
            for (&number, given) in told {
                by_number.insert(u32::from(number), self.told(given)?);
            }
        }
        by_number.retain(|_, column| *column != time);
        let count = by_number.len();
        if !(2..=MOST_DISPLAYS).contains(&count) {
            return Err(LogError::NoDisplays { found: count, names: self.names.to_vec() });
        }
        for number in (1..).take(count) {
            if !by_number.contains_key(&number) {
                return Err(LogError::MissingDisplay { number, names: self.names.to_vec() });
            }
        }
        Ok(by_number.into_values().collect())
    }

    fn scales(&self, displays: &[usize], findings: &mut Findings) -> Vec<LogScale> {
        if let Some(scale) = self.options.scale {
            return vec![scale; displays.len()];
        }
        let said: Vec<Option<LogScale>> =
            displays.iter().map(|&column| columns::scale(&self.taken[column].unit)).collect();
        if let Some(all) = said.iter().copied().collect::<Option<Vec<_>>>() {
            return all;
        }
        let numbers: Vec<f64> = displays.iter().flat_map(|&column| self.numbers(column)).collect();
        let most = numbers.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let least = numbers.iter().copied().fold(f64::INFINITY, f64::min);
        // Beyond any display in °C; or like a cold workshop in kelvin.
        let scale = said.iter().copied().flatten().next().unwrap_or(if most > 1300.0 {
            LogScale::Fahrenheit
        } else if (255.0..320.0).contains(&least) && most - least < 30.0 && most < 330.0 {
            LogScale::Kelvin
        } else {
            LogScale::Celsius
        });
        findings.add(Code::Scale, (0, displays[0] + 1), || {
            (
                format!("no unit of temperature; taken as {}", scale.sign()),
                "`--scale c`, `f` or `k` says it".to_owned(),
            )
        });
        vec![scale; displays.len()]
    }
}

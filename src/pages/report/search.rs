//! Jobs that were found, and the line that offers past ones.

use facts::job::brief::Brief;
use facts::job::timeline::{Closing, Standing};
use facts::knowledge::Knowledge;
use judge::search::Before;

use super::doc::{Align, Doc, Table};
use super::{LocalTime, terms, words};

/// A job that was found.
#[derive(Debug, Clone, PartialEq)]
pub struct FoundLine<'a> {
    /// Name as it is typed.
    pub name: String,
    /// The job.
    pub job: &'a Brief,
    /// How unlike its readings are, where they were held against another's.
    pub far: Option<f64>,
}

/// What was found, so many in all of so many looked at.
#[must_use]
pub fn search(
    knowledge: &Knowledge,
    lines: &[FoundLine<'_>],
    (found, looked_at): (usize, usize),
    local: &LocalTime,
) -> Doc {
    let mut doc = Doc::new("Jobs found");
    let of = words::count(looked_at, "job", "jobs");
    if lines.is_empty() {
        doc.para(format!("None of {of}."));
        return doc;
    }
    let more = if found > lines.len() {
        format!(" {} are shown; `--limit` shows more.", lines.len())
    } else {
        String::new()
    };
    doc.para(format!("{found} of {of}.{more}"));
    let like = lines.iter().any(|line| line.far.is_some());
    let mut columns = vec![
        ("job", Align::Left),
        ("opened", Align::Left),
        ("vehicle", Align::Left),
        ("complaint", Align::Left),
        ("remedied", Align::Left),
        ("status", Align::Left),
    ];
    if like {
        columns.push(("distance", Align::Right));
    }
    let mut table = Table::new(columns);
    for line in lines {
        let job = line.job;
        let mut remedied = job.remedied.as_ref().map_or_else(String::new, |(id, place)| {
            format!("{} at {place}", words::lower_first(&cause(knowledge, id)))
        });
        let last = job.remedied.as_ref().map(|(id, _)| id);
        for id in job.put_right.iter().filter(|id| Some(*id) != last) {
            remedied = format!("{}; {remedied}", words::lower_first(&cause(knowledge, id)));
        }
        let mut row = vec![
            line.name.clone(),
            local.day(job.opened),
            job.vehicle.clone(),
            job.complaint.clone(),
            remedied,
            standing(job.standing),
        ];
        if like {
            row.push(line.far.map_or_else(String::new, |far| format!("{far:.2}")));
        }
        table.rows.push(row);
    }
    doc.table(table);
    doc
}

fn standing(standing: Standing) -> String {
    match standing {
        Standing::Closed(Closing::Proven) => "proven".to_owned(),
        standing => terms::standing(standing).to_owned(),
    }
}

/// A cause's name; its id where the knowledge base no longer has it.
fn cause(knowledge: &Knowledge, id: &str) -> String {
    knowledge.cause(id).map_or_else(|| id.to_owned(), |index| knowledge.causes[index].name.clone())
}

/// Causes that the line names.
const NAMED: usize = 3;

/// One line that offers what past jobs with readings like these came to; none without such jobs.
#[must_use]
pub fn readings_before(knowledge: &Knowledge, before: &Before) -> Option<String> {
    let often = match before.jobs() {
        0 => return None,
        1 => "once".to_owned(),
        2 => "twice".to_owned(),
        n => format!("{n} times"),
    };
    let counted = |what: String, n: usize| if n > 1 { format!("{what} ({n})") } else { what };
    let mut list: Vec<String> = before
        .causes
        .iter()
        .take(NAMED)
        .map(|(id, n)| counted(words::lower_first(&cause(knowledge, id)), *n))
        .collect();
    if before.normal > 0 {
        list.push(counted("nothing wrong".to_owned(), before.normal));
    }
    if before.causes.len() > NAMED {
        list.push("other causes".to_owned());
    }
    Some(format!("Readings like these, {often} before: {}.", list.join(", ")))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn past_jobs_are_offered_in_a_line() {
        let knowledge = fixture::knowledge();
        let line = |causes: &[(&str, usize)], normal| {
            let causes = causes.iter().map(|(id, n)| ((*id).to_owned(), *n)).collect();
            readings_before(&knowledge, &Before { causes, normal })
        };
        assert_eq!(line(&[], 0), None);
        let name = words::lower_first(&cause(&knowledge, "fit-shallow"));
        let said = line(&[("fit-shallow", 2)], 0);
        assert_eq!(said, Some(format!("Readings like these, twice before: {name} (2).")));
        let said = line(&[("gone-id", 1)], 2).expect("a line");
        assert_eq!(said, "Readings like these, 3 times before: gone-id, nothing wrong (2).");
    }
}

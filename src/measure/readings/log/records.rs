//! Records of a text by the CSV crate's rules: quotes, doubled quotes, line ends within them.

use csv_core::{ReadRecordResult, ReaderBuilder};

/// Where a record stands and what it holds.
pub(super) struct Record<'a> {
    /// Line of its first character, from 1.
    pub(super) line: u64,
    text: &'a [u8],
    ends: &'a [usize],
}

impl<'a> Record<'a> {
    /// Its fields in order.
    pub(super) fn fields(&self) -> impl Iterator<Item = &'a [u8]> + Clone + use<'a> {
        let (text, ends) = (self.text, self.ends);
        (0..ends.len()).map(move |i| &text[if i == 0 { 0 } else { ends[i - 1] }..ends[i]])
    }
}

/// Hands over each record until `take` says no. What follows the last line end is a record only
/// with `last`. Gives the length of the text in whole records.
pub(super) fn each(
    text: &[u8],
    delimiter: u8,
    last: bool,
    mut take: impl FnMut(&Record<'_>) -> bool,
) -> usize {
    let mut reader = ReaderBuilder::new().delimiter(delimiter).build();
    let (mut out, mut ends) = (vec![0; 4096], vec![0; 64]);
    let (mut at, mut line) = (0, 1);
    loop {
        // Empty lines are skipped here, so that a record's line is where it begins.
        while let Some(b @ (b'\r' | b'\n')) = text.get(at) {
            line += u64::from(*b == b'\n');
            at += 1;
        }
        if at == text.len() {
            return at;
        }
        let (from, mut used, mut kept) = (at, 0, 0);
        let whole = loop {
            let rest = &text[at..];
            if rest.is_empty() && !last {
                break false;
            }
            let (result, read, wrote, ended) =
                reader.read_record(rest, &mut out[used..], &mut ends[kept..]);
            at += read;
            used += wrote;
            kept += ended;
            match result {
                ReadRecordResult::Record => break true,
                ReadRecordResult::InputEmpty => {}
                ReadRecordResult::OutputFull => out.resize(2 * out.len(), 0),
                ReadRecordResult::OutputEndsFull => ends.resize(2 * ends.len(), 0),
                ReadRecordResult::End => break kept > 0,
            }
        };
        if !whole {
            return from;
        }
        let record = Record { line, text: &out[..used], ends: &ends[..kept] };
        if !take(&record) {
            return at;
        }
        line += memchr::memchr_iter(b'\n', &text[from..at]).count() as u64;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn all(text: &str, last: bool) -> (Vec<(u64, Vec<String>)>, usize) {
        let mut found = Vec::new();
        let whole = each(text.as_bytes(), b',', last, |record| {
            let fields = record.fields().map(|f| String::from_utf8_lossy(f).into_owned());
            found.push((record.line, fields.collect()));
            true
        });
        (found, whole)
    }

    #[test]
    fn quotes_line_ends_and_lines_are_kept() {
        let text = "a,\"b\r\nc\"\r\n\r\n1,\"x\"\"y\"\n2,3";
        let row = |fields: &[&str]| fields.iter().map(|&f| f.to_owned()).collect::<Vec<_>>();
        let (found, whole) = all(text, false);
        assert_eq!(found, [(1, row(&["a", "b\r\nc"])), (4, row(&["1", "x\"y"]))]);
        assert_eq!(&text[whole..], "2,3");
        let (found, whole) = all(text, true);
        assert_eq!((found.len(), whole), (3, text.len()));
        assert_eq!(found[2], (5, row(&["2", "3"])));
    }
}

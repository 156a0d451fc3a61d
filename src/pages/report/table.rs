//! Fitting a table into a width.

use super::wrap::{cells, longest_word};

/// Cells between two columns.
pub(super) const GAP: usize = 2;

/// A column narrower than this is not worth reading, unless its content is.
const NARROW: usize = 12;

/// Widths of columns so that the table takes no more than `width`, `None` if it cannot.
///
/// Columns keep their natural width while there is room. Otherwise the widest one gives way,
/// cell by cell, down to its longest word (or [`NARROW`], if that is less).
pub(super) fn fit<'a>(
    columns: usize,
    rows: impl Iterator<Item = &'a [String]>,
    width: usize,
) -> Option<Vec<usize>> {
    let mut natural = vec![2; columns];
    let mut least = vec![2; columns];
    for row in rows {
        for (index, cell) in row.iter().take(columns).enumerate() {
            natural[index] = natural[index].max(cells(cell));
            least[index] = least[index].max(longest_word(cell).min(NARROW));
        }
    }
    let room = width.checked_sub(GAP * columns.saturating_sub(1))?;
    if least.iter().sum::<usize>() > room {
        return None;
    }
    while natural.iter().sum::<usize>() > room {
        let widest =
            (0..columns).filter(|&i| natural[i] > least[i]).max_by_key(|&i| (natural[i], i))?;
        natural[widest] -= 1;
    }
    Some(natural)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_widest_column_gives_way() {
        let rows = [vec!["short".to_owned(), "a rather long text here".to_owned()]];
        let widths = |width| fit(2, rows.iter().map(Vec::as_slice), width);
        assert_eq!(widths(80), Some(vec![5, 23]));
        assert_eq!(widths(20), Some(vec![5, 13]));
        assert_eq!(widths(13), Some(vec![5, 6]));
        assert_eq!(widths(12), None);
    }
}

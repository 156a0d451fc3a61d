//! Where the rows of the finished lists were written, for findings about the whole.

use super::cx::{Cx, Names};
use super::read::Rows;
use super::spot::{Row, Spot};
use crate::knowledge::codes;
use crate::knowledge::finding::Finding;
use crate::knowledge::outline::Step::{self, Field, Nth};

/// Spots by list, in the order of the finished lists.
pub(super) struct Written<'a> {
    pub(super) causes: Vec<Spot<'a>>,
    pub(super) tests: Vec<Spot<'a>>,
    pub(super) groups: Vec<Spot<'a>>,
    pub(super) spreads: Vec<Spot<'a>>,
    access: Vec<Spot<'a>>,
    parts: Vec<Spot<'a>>,
    recent: Vec<Spot<'a>>,
    cautions: Vec<Spot<'a>>,
}

impl<'a> Written<'a> {
    pub(super) fn of(rows: &Rows<'a>) -> Self {
        fn spots<'a, T>(rows: &[Row<'a, T>]) -> Vec<Spot<'a>> {
            rows.iter().map(|row| row.spot).collect()
        }
        Self {
            causes: spots(&rows.causes),
            tests: spots(&rows.tests),
            groups: spots(&rows.groups),
            spreads: spots(&rows.spreads),
            access: spots(&rows.access),
            parts: spots(&rows.parts),
            recent: spots(&rows.recent),
            cautions: spots(&rows.cautions),
        }
    }

    /// Puts the spots of groups in the order the groups got.
    pub(super) fn sort_groups(&mut self, place: &[Option<usize>]) {
        let mut sorted = self.groups.clone();
        for (spot, at) in self.groups.iter().zip(place) {
            if let Some(at) = at {
                sorted[*at] = *spot;
            }
        }
        self.groups = sorted;
    }

    /// Notes for rows that nothing refers to. Sources are left out: they also stand behind
    /// formulas in the code. So are sets of causes: they are words for whoever writes tests, in an
    /// overlay as well as here.
    pub(super) fn check_unused(&self, cx: &mut Cx<'a>) {
        let lists: [(&Names<'_>, &[Spot<'_>], Step); 4] = [
            (&cx.access, &self.access, Field("id")),
            (&cx.parts, &self.parts, Nth(0)),
            (&cx.recent, &self.recent, Nth(0)),
            (&cx.cautions, &self.cautions, Nth(0)),
        ];
        let mut notes: Vec<Finding> = Vec::new();
        for (names, spots, step) in lists {
            for id in names.unused() {
                let spot = spots[id.1];
                notes.push(
                    spot.at(&[step])
                        .finding(
                            codes::UNUSED,
                            format!("nothing uses {} `{}`", names.what(), id.0),
                            "",
                        )
                        .help("use it or delete it"),
                );
            }
        }
        cx.findings.append(&mut notes);
    }
}

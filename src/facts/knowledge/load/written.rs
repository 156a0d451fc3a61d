//! Where the rows of the finished lists were written, for findings about the whole.

use super::cx::{Cx, Names};
use super::read::Rows;
use super::spot::{Row, Spot};
use crate::knowledge::codes::{self, Code};
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
    sources: Vec<Spot<'a>>,
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
            sources: spots(&rows.sources),
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

    /// Findings for rows that nothing refers to. Sets of causes are left out: they are words for
    /// whoever writes tests, in an overlay as well as here.
    pub(super) fn check_unused(&self, cx: &mut Cx<'a>) {
        const USE: &str = "use it or delete it";
        const CITE: &str = "cite it where a number is from it, or delete it";
        let lists: [(&Names<'_>, &[Spot<'_>], Step, Code, &str); 5] = [
            (&cx.access, &self.access, Field("id"), codes::UNUSED, USE),
            (&cx.parts, &self.parts, Nth(0), codes::UNUSED, USE),
            (&cx.recent, &self.recent, Nth(0), codes::UNUSED, USE),
            (&cx.cautions, &self.cautions, Nth(0), codes::UNUSED, USE),
            (&cx.sources, &self.sources, Nth(0), codes::UNUSED_SOURCE, CITE),
        ];
        let mut notes: Vec<Finding> = Vec::new();
        for (names, spots, step, code, help) in lists {
            for id in names.unused() {
                let spot = spots[id.1];
                notes.push(
                    spot.at(&[step])
                        .finding(code, format!("nothing uses {} `{}`", names.what(), id.0), "")
                        .help(help),
                );
            }
        }
        cx.findings.append(&mut notes);
    }
}

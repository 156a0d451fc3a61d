//! What would most probably come next, a few steps ahead, by entering the likeliest outcome of
//! each step into a copy of the journal.

use jiff::Timestamp;

use super::context::View;
use facts::job::entry::{Entry, What};
use facts::job::read::read;
use facts::knowledge::{Knowledge, TestKind};
use judge::diagnosis::diagnose;
use judge::plan::{Branch, Choice, Step, advise};
use pages::report::{Ahead, Given};

/// The recommended step and those that most probably follow, `most` in all.
///
/// Ends early where a step's outcome is no word that can be entered, as with readings.
pub(super) fn ahead(view: &View, now: Timestamp, most: usize) -> Vec<Ahead> {
    let knowledge = &view.knowledge;
    let mut journal = view.journal.clone();
    let mut list: Vec<Ahead> = Vec::new();
    let mut given: Option<Given> = None;
    while list.len() < most {
        let timeline = read(knowledge, &journal);
        let advice = advise(&diagnose(knowledge, &timeline));
        let choice = advice.best;
        if list.iter().any(|before| before.choice.step == choice.step) {
            break;
        }
        let likeliest = likeliest(&choice).cloned();
        let step = choice.step;
        list.push(Ahead { timeline, choice, given: given.take() });
        let Some(branch) = likeliest else { break };
        let Some(entries) = entries(knowledge, step, &branch) else { break };
        let here = read(knowledge, &journal);
        journal.entries.extend(
            entries
                .into_iter()
                .map(|what| Entry { at: here.point_of(knowledge, &what), ..entry(now, what) }),
        );
        let (text, probability) = (branch.text.clone(), branch.probability);
        given = Some(Given { id: branch.id, text, probability });
    }
    list
}

fn entry(time: Timestamp, what: What) -> Entry {
    Entry::new(time, String::new(), what)
}

fn likeliest(choice: &Choice) -> Option<&Branch> {
    choice.branches.iter().max_by(|a, b| a.probability.total_cmp(&b.probability))
}

/// What would be entered for an outcome in words; nothing where only numbers tell.
fn entries(knowledge: &Knowledge, step: Step, branch: &Branch) -> Option<Vec<What>> {
    let Step::Test { test, cylinder, partner, .. } = step else { return None };
    let test = &knowledge.tests[test];
    if !test.outcomes.iter().any(|outcome| outcome.id == branch.id) {
        return None;
    }
    let found = What::Found {
        test: test.id.clone(),
        outcome: branch.id.clone(),
        cylinder,
        partner: if test.kind == TestKind::Exchange { partner } else { None },
    };
    let first = match (test.kind, test.item, cylinder, partner) {
        (TestKind::Exchange, Some(item), Some(a), Some(b)) => Some(What::Exchange { item, a, b }),
        (TestKind::Reseat, Some(item), Some(cylinder), _) => {
            Some(What::Remake { item, cylinder, new: false })
        }
        (TestKind::Substitute, Some(item), Some(cylinder), _) => {
            Some(What::Remake { item, cylinder, new: true })
        }
        _ => None,
    };
    Some(first.into_iter().chain([found]).collect())
}

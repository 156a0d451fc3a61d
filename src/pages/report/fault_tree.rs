//! The fault tree as pictures: groups, causes, the tests that speak to each, and how a job has
//! shared its suspicion among them.

use facts::knowledge::Knowledge;
use facts::knowledge::graph::KnowledgeGraph;
use judge::diagnosis::{Assessment, by_chance};

use super::figure::{Chart, Figure, Tree, TreeNode};
use super::words;

/// The whole tree, or what is under one group, as one picture.
///
/// With an assessment every group and cause has its share.
#[must_use]
pub fn fault_tree(
    knowledge: &Knowledge,
    group: Option<usize>,
    assessment: Option<&Assessment>,
) -> Figure {
    let chart = Builder::new(knowledge, assessment).tree(group);
    let name = group.map_or("all groups", |group| knowledge.groups[group].name.as_str());
    let of = if assessment.is_some() { " of this job" } else { "" };
    Figure {
        title: format!("Fault tree{of}: {name}, with the tests that speak to each cause"),
        desc: told(&chart, assessment.is_some()),
        chart: Chart::Tree(chart),
    }
}

/// The whole tree as one picture for each group at its top, for pages.
#[must_use]
pub fn fault_trees(knowledge: &Knowledge, assessment: Option<&Assessment>) -> Vec<Figure> {
    let tops = (0..knowledge.groups.len()).filter(|&g| knowledge.groups[g].parent.is_none());
    tops.map(|group| {
        let mut figure = fault_tree(knowledge, Some(group), assessment);
        // The box at its root says the same.
        figure.title.clear();
        figure
    })
    .collect()
}

/// What there is to see, for who cannot see it.
fn told(chart: &Tree, shares: bool) -> String {
    let groups = chart.nodes.iter().filter(|node| node.parent.is_none()).count();
    if !shares {
        return format!("{groups} at the top, {} entries in all.", chart.nodes.len());
    }
    let is_leaf = |index: usize| chart.nodes.iter().all(|node| node.parent != Some(index));
    let mut leaves: Vec<&TreeNode> = (0..chart.nodes.len())
        .filter(|&index| is_leaf(index))
        .map(|index| &chart.nodes[index])
        .collect();
    leaves.sort_by(|a, b| by_chance(b.share, a.share));
    let first: Vec<String> = leaves
        .into_iter()
        .take(5)
        .map(|node| format!("{} {}", node.label, words::percent(node.share)))
        .collect();
    format!("Most suspected: {}.", first.join(", "))
}

struct Builder<'a> {
    knowledge: &'a Knowledge,
    graph: KnowledgeGraph<'a>,
    assessment: Option<&'a Assessment>,
    nodes: Vec<TreeNode>,
}

impl<'a> Builder<'a> {
    fn new(knowledge: &'a Knowledge, assessment: Option<&'a Assessment>) -> Self {
        let graph = KnowledgeGraph::of(knowledge);
        Self { knowledge, graph, assessment, nodes: Vec::new() }
    }

    fn tree(mut self, group: Option<usize>) -> Tree {
        match group {
            Some(group) => self.group(group, None),
            None => self.groups(None, None),
        }
        let root = group.map_or("odd reading", |g| self.knowledge.groups[g].name.as_str());
        Tree { root: root.to_owned(), nodes: self.nodes, shares: self.assessment.is_some() }
    }

    /// The groups within a group, or at the top.
    fn groups(&mut self, within: Option<usize>, parent: Option<usize>) {
        for group in 0..self.knowledge.groups.len() {
            if self.knowledge.groups[group].parent == within {
                self.group(group, parent);
            }
        }
    }

    fn group(&mut self, group: usize, parent: Option<usize>) {
        let share = self.assessment.map_or(0.0, |assessment| {
            let found = assessment.groups.iter().find(|(index, _)| *index == group);
            found.map_or(0.0, |(_, share)| *share)
        });
        let label = self.knowledge.groups[group].name.clone();
        let index = self.nodes.len();
        self.nodes.push(TreeNode { parent, label, note: String::new(), share });
        for (cause, listed) in self.knowledge.causes.iter().enumerate() {
            if listed.group == group {
                self.cause(cause, index);
            }
        }
        self.groups(Some(group), Some(index));
    }

    fn cause(&mut self, cause: usize, parent: usize) {
        let tests = self.graph.tests_for(cause);
        let tests: Vec<&str> =
            tests.into_iter().map(|test| self.knowledge.tests[test].id.as_str()).collect();
        self.nodes.push(TreeNode {
            parent: Some(parent),
            label: words::lower_first(&self.knowledge.causes[cause].name),
            note: tests.join(" "),
            share: self
                .assessment
                .map_or(0.0, |assessment| assessment.cause_share(self.knowledge, cause)),
        });
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::sample;

    fn nodes(figure: &Figure) -> &[TreeNode] {
        let Chart::Tree(tree) = &figure.chart else { panic!("a tree") };
        &tree.nodes
    }

    #[test]
    fn the_whole_tree_holds_every_group_and_cause_once() {
        let knowledge = sample::knowledge();
        let figure = fault_tree(&knowledge, None, None);
        let wanted = knowledge.groups.len() + knowledge.causes.len();
        assert_eq!(nodes(&figure).len(), wanted);
        let parts = fault_trees(&knowledge, None);
        assert_eq!(parts.iter().map(|part| nodes(part).len()).sum::<usize>(), wanted);
        for (index, node) in nodes(&figure).iter().enumerate() {
            assert!(node.parent.is_none_or(|parent| parent < index), "{}", node.label);
        }
    }

    #[test]
    fn a_job_lays_its_shares_over_the_tree() {
        let (knowledge, assessment) = (sample::knowledge(), sample::assessment());
        let figure = fault_tree(&knowledge, None, Some(&assessment));
        let deep = words::lower_first(&knowledge.causes[sample::FIT_DEEP].name);
        let node = nodes(&figure).iter().find(|node| node.label == deep).expect("is there");
        assert!((node.share - assessment.cause_share(&knowledge, sample::FIT_DEEP)).abs() < 1e-12);
        assert!(node.share > 0.1);
        assert!(figure.desc.contains(&deep), "{}", figure.desc);
    }
}

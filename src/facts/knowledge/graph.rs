//! The knowledge base as a graph: groups lead to groups and causes, set-ups to the tests they
//! make possible, tests to the causes they speak to.
//!
//! Answers questions of structure; chances and costs live elsewhere.

mod alike;
mod dot;

use std::collections::{BTreeMap, BTreeSet};

use petgraph::algo::{is_cyclic_directed, tarjan_scc};
use petgraph::graph::{DiGraph, NodeIndex};
use petgraph::unionfind::UnionFind;
use petgraph::visit::Dfs;

use super::exchange::{Exchange, Partner, exchange_row};
use super::model::{Knowledge, Thermal};

/// A thing in the graph, by index into the lists of [`Knowledge`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Node {
    /// A group of causes.
    Group(usize),
    /// A cause.
    Cause(usize),
    /// A test.
    Test(usize),
    /// Something to open.
    Access(usize),
    /// A state of the engine.
    State(Thermal),
}

/// The graph of a knowledge base.
#[derive(Debug)]
pub struct KnowledgeGraph<'k> {
    knowledge: &'k Knowledge,
    graph: DiGraph<Node, ()>,
    at: BTreeMap<Node, NodeIndex>,
}

/// Every way an exchange can be done; chances may differ between them.
const WAYS: [Exchange; 4] = {
    const fn way(partner: Partner, depth_travels: bool) -> Exchange {
        Exchange { partner, depth_travels }
    }
    [
        way(Partner::Stranger, false),
        way(Partner::Stranger, true),
        way(Partner::Mate, false),
        way(Partner::Mate, true),
    ]
};

impl<'k> KnowledgeGraph<'k> {
    /// Draws the edges.
    #[must_use]
    pub fn of(knowledge: &'k Knowledge) -> Self {
        let mut this = Self { knowledge, graph: DiGraph::new(), at: BTreeMap::new() };
        for (n, group) in knowledge.groups.iter().enumerate() {
            this.node(Node::Group(n));
            if let Some(parent) = group.parent {
                this.edge(Node::Group(parent), Node::Group(n));
            }
        }
        for (n, cause) in knowledge.causes.iter().enumerate() {
            this.edge(Node::Group(cause.group), Node::Cause(n));
        }
        for (n, test) in knowledge.tests.iter().enumerate() {
            for &access in &test.access {
                this.edge(Node::Access(access), Node::Test(n));
            }
            for &state in &test.states {
                this.edge(Node::State(state), Node::Test(n));
            }
            this.node(Node::Test(n));
            for cause in 0..knowledge.causes.len() {
                if this.row_differs(n, cause) {
                    this.edge(Node::Test(n), Node::Cause(cause));
                }
            }
        }
        this
    }

    fn node(&mut self, node: Node) -> NodeIndex {
        *self.at.entry(node).or_insert_with(|| self.graph.add_node(node))
    }

    fn edge(&mut self, from: Node, to: Node) {
        let (from, to) = (self.node(from), self.node(to));
        self.graph.add_edge(from, to, ());
    }

    fn row_differs(&self, test: usize, cause: usize) -> bool {
        let default = &self.knowledge.tests[test].default;
        if !self.knowledge.tests[test].kind.follows_seats() {
            let row = self.knowledge.tests[test].given.get(&cause);
            return row.is_some_and(|row| distance(row, default) > SAME);
        }
        WAYS.iter()
            .any(|&how| distance(&exchange_row(self.knowledge, test, cause, how), default) > SAME)
    }

    /// Whether no way leads back to where it began.
    #[must_use]
    pub fn acyclic(&self) -> bool {
        !is_cyclic_directed(&self.graph)
    }

    /// Everything a node leads to, itself included; nothing if it is not in the graph.
    #[must_use]
    pub fn reachable(&self, from: Node) -> BTreeSet<Node> {
        let mut found = BTreeSet::new();
        if let Some(&start) = self.at.get(&from) {
            let mut walk = Dfs::new(&self.graph, start);
            while let Some(next) = walk.next(&self.graph) {
                found.insert(self.graph[next]);
            }
        }
        found
    }

    /// Edges in order of their ends.
    fn edges(&self) -> BTreeSet<(Node, Node)> {
        self.graph
            .edge_indices()
            .filter_map(|edge| self.graph.edge_endpoints(edge))
            .map(|(from, to)| (self.graph[from], self.graph[to]))
            .collect()
    }

    fn neighbours(&self, node: Node, direction: petgraph::Direction) -> BTreeSet<Node> {
        let at = self.at.get(&node).into_iter();
        at.flat_map(|&at| self.graph.neighbors_directed(at, direction))
            .map(|at| self.graph[at])
            .collect()
    }

    /// Causes whose chances in a test differ from those of a cause it knows nothing of.
    #[must_use]
    pub fn speaks_to(&self, test: usize) -> Vec<usize> {
        let all = self.neighbours(Node::Test(test), petgraph::Outgoing);
        all.into_iter()
            .filter_map(|node| match node {
                Node::Cause(cause) => Some(cause),
                _ => None,
            })
            .collect()
    }

    /// Tests that speak to a cause.
    #[must_use]
    pub fn tests_for(&self, cause: usize) -> Vec<usize> {
        let all = self.neighbours(Node::Cause(cause), petgraph::Incoming);
        all.into_iter()
            .filter_map(|node| match node {
                Node::Test(test) => Some(test),
                _ => None,
            })
            .collect()
    }

    /// Groups of two or more causes that no test and no reading tells apart, each in order.
    ///
    /// Being alike is judged with tolerances and taken as passing on from pair to pair.
    #[must_use]
    pub fn ambiguity_groups(&self) -> Vec<Vec<usize>> {
        let causes = &self.knowledge.causes;
        let mut alike: UnionFind<usize> = UnionFind::new(causes.len());
        for a in 0..causes.len() {
            for b in a + 1..causes.len() {
                if alike::readings_alike(&causes[a], &causes[b]) && !self.told_apart(a, b) {
                    alike.union(a, b);
                }
            }
        }
        let mut groups: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
        for (cause, label) in alike.into_labeling().into_iter().enumerate() {
            groups.entry(label).or_default().push(cause);
        }
        let mut groups: Vec<Vec<usize>> = groups.into_values().filter(|g| g.len() > 1).collect();
        groups.sort();
        groups
    }

    /// Whether some test that both can meet gives them different chances.
    fn told_apart(&self, a: usize, b: usize) -> bool {
        let causes = &self.knowledge.causes;
        self.knowledge.tests.iter().enumerate().any(|(n, test)| {
            let met = alike::can_meet(&[&test.applies, &causes[a].applies, &causes[b].applies]);
            let ways: &[Exchange] = if test.kind.follows_seats() { &WAYS } else { &WAYS[..1] };
            met && ways.iter().any(|&how| {
                let (a, b) = (
                    exchange_row(self.knowledge, n, a, how),
                    exchange_row(self.knowledge, n, b, how),
                );
                distance(&a, &b) > ALIKE
            })
        })
    }
}

/// Rows closer than this are the same but for rounding.
const SAME: f64 = 1e-9;
/// Rows closer than this tell nothing apart in practice: two in a hundred outcomes differ.
const ALIKE: f64 = 0.02;

/// Total variation distance of two rows: half the sum of absolute differences.
fn distance(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| (a - b).abs()).sum::<f64>() / 2.0
}

/// Rings among `count` things, each in order, found as strongly connected components.
pub(super) fn rings(
    count: usize,
    edges: impl IntoIterator<Item = (usize, usize)>,
) -> Vec<Vec<usize>> {
    let mut graph: DiGraph<usize, ()> = DiGraph::new();
    let nodes: Vec<NodeIndex> = (0..count).map(|n| graph.add_node(n)).collect();
    for (from, to) in edges {
        graph.add_edge(nodes[from], nodes[to], ());
    }
    let mut rings: Vec<Vec<usize>> = tarjan_scc(&graph)
        .into_iter()
        .filter(|part| part.len() > 1 || graph.contains_edge(part[0], part[0]))
        .map(|part| {
            let mut ring: Vec<usize> = part.into_iter().map(|node| graph[node]).collect();
            ring.sort_unstable();
            ring
        })
        .collect();
    rings.sort();
    rings
}

#[cfg(test)]
mod tests {
    use super::super::fixture::knowledge;
    use super::*;

    #[test]
    fn rings_are_found_and_chains_are_not() {
        assert_eq!(rings(4, [(0, 1), (1, 2), (2, 3)]), Vec::<Vec<usize>>::new());
        assert_eq!(rings(5, [(0, 1), (1, 0), (2, 2), (3, 4)]), [vec![0, 1], vec![2]]);
    }

    #[test]
    fn a_checked_base_has_no_way_back() {
        let knowledge = knowledge();
        assert!(KnowledgeGraph::of(&knowledge).acyclic());
    }

    #[test]
    fn tests_and_causes_find_each_other() {
        let knowledge = knowledge();
        let graph = KnowledgeGraph::of(&knowledge);
        for test in 0..knowledge.tests.len() {
            for cause in 0..knowledge.causes.len() {
                assert_eq!(
                    graph.speaks_to(test).contains(&cause),
                    graph.tests_for(cause).contains(&test)
                );
            }
        }
        let spoken: Vec<&str> = graph
            .speaks_to(knowledge.test("reseat-probe").expect("is there"))
            .into_iter()
            .map(|n| knowledge.causes[n].id.as_str())
            .collect();
        assert_eq!(spoken, ["conn-poor", "fit-deep", "fit-shallow", "lead-crossed", "not-settled"]);
    }

    #[test]
    fn a_top_group_leads_to_its_causes_and_no_test() {
        let knowledge = knowledge();
        let graph = KnowledgeGraph::of(&knowledge);
        let top = knowledge.groups.iter().position(|g| g.id == "measuring");
        let below = graph.reachable(Node::Group(top.expect("is there")));
        assert!(below.contains(&Node::Cause(knowledge.cause("fit-deep").expect("is there"))));
        assert!(!below.iter().any(|node| matches!(node, Node::Test(_))));
    }
}

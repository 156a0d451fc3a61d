//! The graph in the DOT language, for any layout program. Sorted, so that two drawings of
//! the same knowledge are the same text.

use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write as _;

use super::{KnowledgeGraph, Node};
use crate::knowledge::model::{Knowledge, TestKind};
use measure::percent::percent;

impl KnowledgeGraph<'_> {
    /// The graph as DOT; with `group` only what is under that group, the tests that speak to
    /// it and what these need. A node with a share has it after its id, and a thick outline
    /// from a tenth up.
    #[must_use]
    pub fn to_dot(&self, group: Option<usize>, shares: &BTreeMap<Node, f64>) -> String {
        let wanted = self.wanted(group);
        let mut dot = String::from("digraph knowledge {\n  rankdir=LR;\n  node [fontsize=10];\n");
        for &node in &wanted {
            let (id, shape) = self.look(node);
            let found = shares.get(&node);
            let label = found.map_or_else(|| id.to_owned(), |p| format!("{id}: {}", percent(*p)));
            let thick = found.is_some_and(|p| *p >= 0.1);
            let outline = if thick { ", penwidth=3" } else { "" };
            let (key, label) = (self.key(node), quoted(&label));
            let _ = writeln!(dot, "  {key} [label={label}, shape={shape}{outline}];");
        }
        for (from, to) in self.edges() {
            if wanted.contains(&from) && wanted.contains(&to) {
                let _ = writeln!(dot, "  {} -> {};", self.key(from), self.key(to));
            }
        }
        dot.push_str("}\n");
        dot
    }

    fn wanted(&self, group: Option<usize>) -> BTreeSet<Node> {
        let Some(group) = group else {
            return self.at.keys().copied().collect();
        };
        let mut wanted = self.reachable(Node::Group(group));
        // Two steps back: to the tests, and to what the tests need.
        for kinds in [is_test as fn(Node) -> bool, is_setup] {
            let before: Vec<Node> = wanted
                .iter()
                .flat_map(|&node| self.neighbours(node, petgraph::Incoming))
                .filter(|&node| kinds(node))
                .collect();
            wanted.extend(before);
        }
        wanted
    }

    fn look(&self, node: Node) -> (&str, &'static str) {
        let Knowledge { groups, causes, tests, access, .. } = self.knowledge;
        match node {
            Node::Group(n) => (&groups[n].id, "folder"),
            Node::Cause(n) => (&causes[n].id, "box"),
            Node::Test(n) if tests[n].kind == TestKind::Exchange => (&tests[n].id, "hexagon"),
            Node::Test(n) => (&tests[n].id, "ellipse"),
            Node::Access(n) => (&access[n].id, "house"),
            Node::State(state) => (state.as_str(), "octagon"),
        }
    }

    /// Name of a node that no node of another kind has.
    fn key(&self, node: Node) -> String {
        let kind = match node {
            Node::Group(_) => "group",
            Node::Cause(_) => "cause",
            Node::Test(_) => "test",
            Node::Access(_) => "access",
            Node::State(_) => "state",
        };
        quoted(&format!("{kind} {}", self.look(node).0))
    }
}

fn is_test(node: Node) -> bool {
    matches!(node, Node::Test(_))
}

fn is_setup(node: Node) -> bool {
    matches!(node, Node::Access(_) | Node::State(_))
}

/// A DOT string: only the quote needs escaping by its grammar, and the backslash lest a
/// layout program read an escape of its own.
fn quoted(text: &str) -> String {
    format!("\"{}\"", text.replace('\\', "\\\\").replace('"', "\\\""))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::knowledge::fixture::knowledge;

    #[test]
    fn quotes_and_backslashes_are_escaped() {
        assert_eq!(quoted("a \"b\" \\n"), r#""a \"b\" \\n""#);
    }

    #[test]
    fn one_group_is_drawn_with_its_tests_and_their_set_ups() {
        let knowledge = knowledge();
        let group = knowledge.groups.iter().position(|g| g.id == "fit");
        insta::assert_snapshot!(KnowledgeGraph::of(&knowledge).to_dot(group, &BTreeMap::new()), @r#"
        digraph knowledge {
          rankdir=LR;
          node [fontsize=10];
          "group fit" [label="fit", shape=folder];
          "cause fit-deep" [label="fit-deep", shape=box];
          "cause fit-shallow" [label="fit-shallow", shape=box];
          "test look-fit" [label="look-fit", shape=ellipse];
          "test new-probe" [label="new-probe", shape=ellipse];
          "test reseat-probe" [label="reseat-probe", shape=ellipse];
          "test swap-at-box" [label="swap-at-box", shape=hexagon];
          "test swap-probe" [label="swap-probe", shape=hexagon];
          "access probe-out" [label="probe-out", shape=house];
          "state cool" [label="cool", shape=octagon];
          "state hot" [label="hot", shape=octagon];
          "state idle" [label="idle", shape=octagon];
          "group fit" -> "cause fit-deep";
          "group fit" -> "cause fit-shallow";
          "test look-fit" -> "cause fit-deep";
          "test look-fit" -> "cause fit-shallow";
          "test new-probe" -> "cause fit-deep";
          "test new-probe" -> "cause fit-shallow";
          "test reseat-probe" -> "cause fit-deep";
          "test reseat-probe" -> "cause fit-shallow";
          "test swap-at-box" -> "cause fit-deep";
          "test swap-at-box" -> "cause fit-shallow";
          "test swap-probe" -> "cause fit-deep";
          "test swap-probe" -> "cause fit-shallow";
          "access probe-out" -> "test look-fit";
          "state cool" -> "test look-fit";
          "state cool" -> "test new-probe";
          "state cool" -> "test reseat-probe";
          "state cool" -> "test swap-probe";
          "state hot" -> "test look-fit";
          "state hot" -> "test swap-at-box";
          "state idle" -> "test swap-at-box";
        }
        "#);
    }

    #[test]
    fn the_whole_drawing_holds_every_id() {
        let knowledge = knowledge();
        let dot = KnowledgeGraph::of(&knowledge).to_dot(None, &BTreeMap::new());
        for cause in &knowledge.causes {
            assert!(dot.contains(&format!("\"cause {}\"", cause.id)));
        }
        for test in &knowledge.tests {
            assert!(dot.contains(&format!("\"test {}\"", test.id)));
        }
    }
}

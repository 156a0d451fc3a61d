//! The knowledge base that is built into the binary.

use std::sync::LazyLock;

use super::sources::SourceText;

/// Pairs each path under `knowledge/` with its text.
macro_rules! texts {
    ($($path:literal),+ $(,)?) => {
        &[$(($path, include_str!(concat!("../../../knowledge/", $path)))),+]
    };
}

/// Every file of the `knowledge` folder; a test holds the list against the folder.
const FILES: &[(&str, &str)] = texts![
    "causes/air.ron",
    "causes/channel.ron",
    "causes/cooling.ron",
    "causes/diesel.ron",
    "causes/exhaust.ron",
    "causes/fit.ron",
    "causes/fuel.ron",
    "causes/ignition.ron",
    "causes/lead.ron",
    "causes/none.ron",
    "causes/probe.ron",
    "causes/setup.ron",
    "causes/valves.ron",
    "cautions.ron",
    "engines.ron",
    "groups.ron",
    "heat.ron",
    "model.ron",
    "points.ron",
    "setups.ron",
    "sources.ron",
    "spreads.ron",
    "tests/chain.ron",
    "tests/exchanges.ron",
    "tests/fuel-air.ron",
    "tests/look.ron",
    "tests/mechanical.ron",
    "tests/observe.ron",
    "tests/running.ron",
];

/// The built-in texts, named `built-in/...`.
#[must_use]
pub fn embedded() -> &'static [SourceText] {
    static TEXTS: LazyLock<Vec<SourceText>> = LazyLock::new(|| {
        FILES
            .iter()
            .map(|&(name, text)| SourceText::new(format!("built-in/{name}"), text))
            .collect()
    });
    &TEXTS
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;
    use std::path::Path;

    use super::super::finding::{Finding, Severity, render};
    use super::super::load::load;
    use super::*;
    use crate::fixture;
    use measure::engine::Kind;

    /// Paths below a folder, with forward slashes.
    fn walk(folder: &Path, prefix: &str, found: &mut BTreeSet<String>) {
        for entry in std::fs::read_dir(folder).expect("a folder") {
            let entry = entry.expect("an entry");
            let name = format!("{prefix}{}", entry.file_name().to_str().expect("plain name"));
            if entry.path().is_dir() {
                walk(&entry.path(), &format!("{name}/"), found);
            } else {
                found.insert(name);
            }
        }
    }

    #[test]
    fn a_kind_reads_back_and_meets_the_same_conditions() {
        let knowledge = load(embedded(), &[]).0.expect("sound");
        let own = [fixture::engine()];
        for engine in knowledge.presets.iter().map(|preset| &preset.engine).chain(&own) {
            let kind = Kind::of(engine);
            assert_eq!(kind.to_string().parse(), Ok(kind));
            let plain = kind.engine();
            for cause in &knowledge.causes {
                assert_eq!(cause.applies.holds(engine), cause.applies.holds(&plain), "{kind}");
            }
        }
        assert_eq!(
            Kind::of(&fixture::engine()).to_string(),
            "4 inline port wasted-spark plenum natural liquid exhaust"
        );
    }

    #[test]
    fn the_list_equals_the_folder() {
        let mut folder = BTreeSet::new();
        walk(&Path::new(env!("CARGO_MANIFEST_DIR")).join("../../knowledge"), "", &mut folder);
        let listed: BTreeSet<String> = FILES.iter().map(|(path, _)| (*path).to_owned()).collect();
        assert_eq!(listed, folder);
    }

    #[test]
    fn the_built_in_knowledge_is_clean() {
        let (knowledge, findings) = load(embedded(), &[]);
        let faults: Vec<Finding> =
            findings.into_iter().filter(|f| f.severity != Severity::Note).collect();
        assert!(faults.is_empty(), "{}", render(&faults, embedded(), false));
        let knowledge = knowledge.expect("no faults");
        assert_eq!((knowledge.causes.len(), knowledge.tests.len()), (84, 85));
        // The code asks for this one by name.
        assert!(knowledge.groups.iter().any(|g| g.id == "measuring" && g.parent.is_none()));
    }
}

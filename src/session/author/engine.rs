//! A ready engine of one's own.

use super::Written;
use super::ask::{id, line, quoted, text};
use crate::session::asker::Asked;
use crate::session::describe;
use crate::session::desk::Desk;

/// Asks for one.
pub(super) fn ask(desk: &mut Desk<'_>) -> Asked<Written> {
    let help = "as: Yard pump, five in line; no name of a customer, for it shows on cards";
    let name = line(desk, ("What is the engine called?", help), "", text)?;
    let id = id(desk, &name)?;
    let engine = describe::described(desk)?;
    let config = ron::ser::PrettyConfig::new().depth_limit(1).new_line("\n");
    let body = ron::ser::to_string_pretty(&engine, config).unwrap_or_default();
    let body = body.replace('\n', "\n            ");
    let text = format!(
        "\
// An engine of this workshop's own, written by `oddpot knowledge new engine`. Change it as you like,
// then `oddpot knowledge check`.
(
    engines: [
        (
            // Jobs and `oddpot open JOB --engine` name it so; never change it.
            id: {},
            name: {},
            // Mixtures are equivalence ratios: 1 is stoichiometric, above is rich.
            engine: {body},
            // Where these figures are from: practice, memory, computed(\"how\"), judgement(\"why\").
            basis: judgement(\"as it was described\"),
        ),
    ],
)
",
        quoted(&id),
        quoted(&name),
    );
    Ok(Written { id, text })
}

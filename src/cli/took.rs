//! The minutes a piece of work took, as an option of the commands that enter work.

/// How long it took; never asked for.
#[derive(Debug, Clone, Copy, clap::Args)]
pub(super) struct Took {
    /// Hands-on minutes the work itself took, without opening or fetching anything or waiting
    ///
    /// Only for a memory of the workshop, which learns from it how long tests really take here.
    #[arg(long, value_name = "MINUTES")]
    pub(super) minutes: Option<f64>,
}

impl Took {
    /// The option as it was typed, behind the rest of an entry.
    pub(super) fn typed(self) -> String {
        self.minutes.map_or_else(String::new, |minutes| format!(" --minutes {minutes}"))
    }
}

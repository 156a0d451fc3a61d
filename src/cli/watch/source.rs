//! Where rows come from, and in what manner they are followed.

use std::fmt::Write as _;
use std::io;
use std::net::TcpStream;
use std::path::{Path, PathBuf};

use crate::cli::failure::Failure;
use crate::cli::log_args::LogArgs;
use crate::cli::points::point;
use crate::cli::tail::{Rows, Tail};
use judge::watch::Kept;
use measure::engine::PointId;

/// How a log is followed. Whoever flattens it has a `source` and a `job`.
#[derive(Debug, Clone, Default, clap::Args)]
pub(in crate::cli) struct Manner {
    /// The running point that is held all the time, where the log does not tell it
    #[arg(long, requires = "source", ignore_case = true,
          value_parser = point())]
    pub(super) at: Option<PointId>,
    /// Enter what has settled in the job
    #[arg(long, requires = "job")]
    pub(super) take: bool,
    /// Write the two minutes before a STOP, and half a minute after it, to a CSV file
    #[arg(long, value_name = "FILE", requires = "job")]
    pub(super) record: Option<PathBuf>,
    /// Of head and exhaust probes take the former
    #[arg(long, requires = "source")]
    pub(super) head: bool,
    #[command(flatten)]
    pub(in crate::cli) log: LogArgs,
}

/// Rows to come.
pub(in crate::cli) struct Opened {
    pub(in crate::cli) rows: Rows,
    /// The file is not there yet.
    pub(in crate::cli) waits: bool,
}

/// Opens where rows come from.
///
/// # Errors
/// When it cannot be read, or nobody listens there.
pub(in crate::cli) fn open(source: &str, until_end: bool) -> Result<Opened, Failure> {
    let there = |rows| Ok(Opened { rows, waits: false });
    if source == "-" {
        return there(Rows::Input(io::stdin()));
    }
    if let Some(address) = source.strip_prefix("tcp:") {
        let stream = TcpStream::connect(address).map_err(|error| {
            Failure::file(format!("no connection to {address}: {error}"))
                .hint("the logger must listen there: `tcp:HOST:PORT`")
        });
        return there(Rows::Network(stream?));
    }
    let path = Path::new(source);
    let tail = Tail::open(path, until_end);
    let tail =
        tail.map_err(|error| Failure::file(format!("could not read {}: {error}", path.display())))?;
    Ok(Opened { waits: tail.waits(), rows: Rows::File(tail) })
}

/// Rows as a CSV file.
pub(in crate::cli) fn table(rows: &[Kept]) -> String {
    let displays = rows.first().map_or(0, |row| row.displays.len());
    let mut text = String::from("seconds");
    for display in 1..=displays {
        let _ = write!(text, ",display {display}");
    }
    text.push_str(",speed,load\n");
    let cell = |value: Option<f64>| value.map_or_else(String::new, |value| format!("{value:.1}"));
    for row in rows {
        let numbers = row.displays.iter().copied().chain([row.speed, row.load]);
        let cells: Vec<String> = numbers.map(cell).collect();
        let _ = writeln!(text, "{:.2},{}", row.seconds, cells.join(","));
    }
    text
}

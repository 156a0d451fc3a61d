//! The `oddpot` program; everything is in the library.

use std::process::ExitCode;

fn main() -> ExitCode {
    oddpot::cli::main()
}

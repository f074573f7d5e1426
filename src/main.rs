//! The `kinleaf` program: everything is in the library.

use std::process::ExitCode;

fn main() -> ExitCode {
    kinleaf::memory::share();
    kinleaf::cli::run()
}

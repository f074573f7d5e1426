//! The command line: the only part that prints, and the only reader of the clock.

mod args;
mod ask;
mod book;
mod check;
mod draw;
mod explain;
mod list;
mod new;
mod print;
mod quality;
mod sarif;
mod schemas;
mod show;
mod start;

use std::path::Path;
use std::process::ExitCode;

use clap::{CommandFactory, Parser};

use args::{Args, Command};

use crate::check::Practice;
use crate::diag::Problem;
use crate::load::load;

/// All well.
const ALL_WELL: u8 = 0;
/// Something could not be made; the rest was.
const SOME_FAILED: u8 = 1;
/// The practice or the command line cannot be used; nothing was made.
const UNUSABLE: u8 = 2;

/// The practice in a folder, with or without clients; all its problems if it cannot be used.
fn practice(folder: &Path) -> Result<Practice, Vec<Problem>> {
    let (files, mut problems) = load(folder);
    let (practice, found) = crate::check::check(files);
    problems.extend(found);
    practice.ok_or(problems)
}

/// Runs the command line of this process.
pub fn run() -> ExitCode {
    // A fault inside the typesetter is reported as a problem of its client; its own message would only confuse.
    std::panic::set_hook(Box::new(|info| {
        if std::thread::current().name() == Some("main") {
            eprintln!("{info}");
        }
    }));
    let args = Args::parse();
    ExitCode::from(match args.command {
        Command::Print(command) => print::run(&args.common, &command),
        Command::Check(command) => check::run(&args.common, &command),
        Command::Explain(command) => explain::run(&args.common, &command),
        Command::List(command) => list::run(&args.common, &command),
        Command::Draw(command) => draw::run(&args.common, &command),
        Command::Book(command) => book::run(&args.common, &command),
        Command::Start(command) => start::run(&args.common, &command),
        Command::New(command) => new::run(&args.common, &command),
        Command::Schemas => schemas::run(&args.common),
        Command::Completions { shell } => {
            clap_complete::generate(shell, &mut Args::command(), "kinleaf", &mut std::io::stdout());
            ALL_WELL
        }
        Command::Manual => match clap_mangen::Man::new(Args::command()).render(&mut std::io::stdout()) {
            Ok(()) => ALL_WELL,
            Err(_) => UNUSABLE,
        },
    })
}

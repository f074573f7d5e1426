//! The arguments, as the design fixes them.

use std::path::PathBuf;

use clap::{Parser, Subcommand, ValueEnum};
use jiff::civil::Date;

use crate::body::Side;
use crate::print::{Ink, Paper, Type, Volume, What, Wishes};

/// Merge client records with an exercise library and typeset personal take-home handouts.
#[derive(Debug, Parser)]
#[command(name = "kinleaf", version, about, max_term_width = 100)]
pub struct Args {
    #[command(flatten)]
    pub common: Common,
    #[command(subcommand)]
    pub command: Command,
}

/// Options that every command has.
#[derive(Debug, clap::Args)]
pub struct Common {
    /// The practice folder: layouts, exercises, clients
    #[arg(long, global = true, value_name = "DIR", default_value = ".")]
    pub practice: PathBuf,
    /// Clients worked on at once [default: one a processor core]
    #[arg(long, global = true, value_name = "N", value_parser = clap::value_parser!(u16).range(1..=64))]
    pub jobs: Option<u16>,
    /// The day to take as today [default: today]
    #[arg(long, global = true, value_name = "DATE")]
    pub on: Option<Date>,
    /// Report for machines, as JSON on standard output
    #[arg(long, global = true)]
    pub json: bool,
}

/// What to do.
#[derive(Debug, Subcommand)]
pub enum Command {
    /// Make every document that is due
    Print(Print),
    /// Check the whole practice; nothing is changed, except by `--fix`
    Check(Check),
    /// Show what was found, what was chosen and why
    Explain(Explain),
    /// Print the names that records, exercises and poses may use, each with what it stands for
    List(List),
    /// Draw pictures of exercises and tests, as SVG or PNG
    Draw(Draw),
    /// Print the library: a book for coaches, a poster or cards
    Book(Book),
    /// Make a new practice: brand, layouts, library and one made-up client
    Start(Start),
    /// Write a starting file for an exercise, a test or a client, or a further visit into a record
    #[command(subcommand)]
    New(New),
    /// Write what an editor needs to complete and check the practice's files while you type, into `.schemas`
    Schemas,
    /// Write completions for a shell to standard output
    Completions {
        /// The shell
        shell: clap_complete::Shell,
    },
    /// Write the manual page to standard output
    Manual,
}

/// `print`.
#[derive(Debug, clap::Args)]
pub struct Print {
    /// Clients, by the names of their files; all if none is named
    #[arg(value_name = "CLIENT")]
    pub clients: Vec<String>,
    /// The folder for documents [default: `out` in the practice]
    #[arg(long, value_name = "DIR")]
    pub out: Option<PathBuf>,
    /// Make the latest sheet once more, exactly as it was issued
    #[arg(long, group = "which")]
    pub again: bool,
    /// Issue a new sheet for the latest visit, even if it has one
    #[arg(long, group = "which")]
    pub renew: bool,
    /// Make the sheet that was current on a day once more
    #[arg(long, group = "which", value_name = "DATE")]
    pub as_of: Option<Date>,
    /// Documents: the client's handout, papers of the same sheet, a letter, the coach's record
    #[arg(long, value_enum, value_delimiter = ',', default_value = "handout")]
    pub what: Vec<WhatArg>,
    /// Paper
    #[arg(long, value_enum)]
    pub paper: Option<PaperArg>,
    /// Type size
    #[arg(long = "type", value_enum, value_name = "TYPE")]
    pub type_size: Option<TypeArg>,
    /// Ink
    #[arg(long, value_enum)]
    pub ink: Option<InkArg>,
    /// Show what public instruments for health handouts say of each new sheet
    #[arg(long)]
    pub quality: bool,
}

/// `check`.
#[derive(Debug, clap::Args)]
pub struct Check {
    /// Show for which needs and limits the library has no exercise
    #[arg(long)]
    pub coverage: bool,
    /// Typeset each first sheet too, and show what public instruments for health handouts say of it
    #[arg(long)]
    pub quality: bool,
    /// Show who holds a sheet whose words the library has changed since
    #[arg(long)]
    pub old_texts: bool,
    /// First mend what is mechanical: the order of keys, how units are written, spaces at the ends of lines
    #[arg(long)]
    pub fix: bool,
    /// Also write the problems to a file in SARIF 2.1.0, which build servers read
    #[arg(long, value_name = "FILE")]
    pub sarif: Option<PathBuf>,
}

/// `start`.
#[derive(Debug, clap::Args)]
pub struct Start {
    /// The folder to make; it must not be there yet
    #[arg(value_name = "DIR")]
    pub folder: PathBuf,
}

/// `new`. What is not given as an option is asked for, if there is a terminal.
#[derive(Debug, Subcommand)]
pub enum New {
    /// An exercise and its pictures
    Exercise(NewExercise),
    /// A test
    Test(NewTest),
    /// A client
    Client(NewClient),
    /// A further visit, at the end of a client's record
    Visit(NewVisit),
}

/// `new exercise`.
#[derive(Debug, clap::Args)]
pub struct NewExercise {
    /// The name of its file, such as `heel-raise`
    pub name: String,
    /// What clients read as its name
    #[arg(long, value_name = "TEXT")]
    pub title: Option<String>,
    /// When in a program it is done: a phase
    #[arg(long, value_name = "NAME")]
    pub phase: Option<String>,
    /// How it works: release, stretch or load
    #[arg(long, value_name = "WORD")]
    pub method: Option<String>,
    /// What it works on: a muscle, joint motion or skill of the vocabulary
    #[arg(long, value_name = "NAME")]
    pub structure: Option<String>,
    /// What is amiss with that: short, overbusy, weak, slow or stiff
    #[arg(long, value_name = "WORD")]
    pub state: Option<String>,
    /// How the body is placed: a position of the vocabulary [default: standing]
    #[arg(long, value_name = "NAME")]
    pub position: Option<String>,
    /// `one` side at a time, or `both` at once [default: both]
    #[arg(long, value_name = "WORD")]
    pub sides: Option<String>,
}

/// `new test`.
#[derive(Debug, clap::Args)]
pub struct NewTest {
    /// The name of its file, such as `knee-to-wall`
    pub name: String,
    /// What clients read as its name
    #[arg(long, value_name = "TEXT")]
    pub title: Option<String>,
    /// What is read: cm, deg, s, count, kg or grade
    #[arg(long, value_name = "WORD")]
    pub unit: Option<String>,
    /// `each` side is read, or `none` [default: each]
    #[arg(long, value_name = "WORD")]
    pub sides: Option<String>,
    /// What a limited reading points to: a muscle, joint motion or skill of the vocabulary
    #[arg(long, value_name = "NAME")]
    pub structure: Option<String>,
    /// What is amiss with that: short, overbusy, weak, slow or stiff
    #[arg(long, value_name = "WORD")]
    pub state: Option<String>,
}

/// `new client`.
#[derive(Debug, clap::Args)]
pub struct NewClient {
    /// The name of the file, such as `ana`; documents are named after it
    #[arg(value_name = "NAME")]
    pub id: String,
    /// Full name
    #[arg(long, value_name = "TEXT")]
    pub name: Option<String>,
    /// The first goal, in the client's own words
    #[arg(long, value_name = "TEXT")]
    pub goal: Option<String>,
    /// Minutes a day for exercises [default: 20]
    #[arg(long, value_name = "N")]
    pub minutes: Option<String>,
}

/// `new visit`.
#[derive(Debug, clap::Args)]
pub struct NewVisit {
    /// The client, by the name of the file
    #[arg(value_name = "CLIENT")]
    pub client: String,
}

/// `explain`.
#[derive(Debug, clap::Args)]
pub struct Explain {
    /// The client, by the name of the file
    #[arg(value_name = "CLIENT")]
    pub client: String,
    /// The visit to explain [default: the latest]
    #[arg(long, value_name = "DATE")]
    pub visit: Option<Date>,
}

/// `list`.
#[derive(Debug, clap::Args)]
pub struct List {
    /// Names of what
    #[arg(value_enum, value_name = "WHAT")]
    pub what: ListArg,
}

/// What can be listed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum ListArg {
    /// The exercises of the library, in the order of its phases
    Exercises,
    /// The tests, with how each is read and the signs that it knows
    Tests,
    /// The health questions, to be asked at each visit
    Questions,
    /// Health conditions
    Conditions,
    /// What clients love to do
    Activities,
    /// What exercises and tests need
    Equipment,
    /// Positions of the body
    Positions,
    /// Muscles, joint motions and skills that tests find and exercises act on
    Structures,
    /// What the safety rules must know of an exercise
    Tags,
    /// Joint motions of pose files, with their range and what a plus means
    Joints,
    /// Muscles that a picture may mark
    Muscles,
    /// Places on the body that arrows and other marks may stand at
    Places,
}

/// `draw`.
#[derive(Debug, clap::Args)]
pub struct Draw {
    /// Exercises by the names of their files, tests as `test-` and the name; all if none is named
    #[arg(value_name = "NAME")]
    pub names: Vec<String>,
    /// The folder for the pictures [default: `out/pictures` in the practice]
    #[arg(long, value_name = "DIR")]
    pub out: Option<PathBuf>,
    /// The side to show, where it makes a difference [default: as the poses were written]
    #[arg(long, value_enum)]
    pub side: Option<SideArg>,
    /// Ink
    #[arg(long, value_enum, default_value = "colour")]
    pub ink: InkArg,
    /// The kind of file
    #[arg(long, value_enum, default_value = "svg")]
    pub format: FormatArg,
    /// Everything side by side on A4 pages with names, each picture 45 mm wide as on a card
    #[arg(long, conflicts_with_all = ["format", "width"])]
    pub contact_sheet: bool,
    /// Width of a PNG, in pixels
    #[arg(long, value_name = "PX", default_value_t = 600, value_parser = clap::value_parser!(u32).range(16..=8000))]
    pub width: u32,
}

/// `book`.
#[derive(Debug, clap::Args)]
pub struct Book {
    /// What to make of the library
    #[arg(long = "as", value_enum, value_name = "KIND", default_value = "book")]
    pub kind: KindArg,
    /// The folder for it [default: `out/book` in the practice]
    #[arg(long, value_name = "DIR")]
    pub out: Option<PathBuf>,
    /// Paper; the poster is A1, or 24 by 36 inches where the paper is Letter
    #[arg(long, value_enum)]
    pub paper: Option<PaperArg>,
    /// Ink
    #[arg(long, value_enum)]
    pub ink: Option<InkArg>,
}

/// A way to print the library, on the command line.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum KindArg {
    /// A book for coaches: exercises, tests, indexes, sources
    Book,
    /// One large page for the wall
    Poster,
    /// Cards to cut, four to a sheet, printed on one side
    Cards,
    /// Cards to cut, printed on both sides: the back says how it is done
    CardsTwoSided,
}

/// A side on the command line.
#[derive(Clone, Copy, Debug, ValueEnum)]
pub enum SideArg {
    /// Left
    Left,
    /// Right
    Right,
}

/// A kind of picture file on the command line.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum FormatArg {
    /// Vectors
    Svg,
    /// Pixels
    Png,
}

/// A document on the command line.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum WhatArg {
    /// The client's handout
    Handout,
    /// Its plan alone, on one page
    Glance,
    /// Its exercises as pocket cards to cut out
    Cards,
    /// Its diary alone
    Diary,
    /// The handout as a booklet: print on both sides, turn over the short edge, fold
    Booklet,
    /// A letter to a clinician, if something is referred
    Letter,
    /// The coach's own record
    Record,
}

impl WhatArg {
    /// The document that it asks for.
    pub fn what(self) -> What {
        match self {
            Self::Handout => What::Handout,
            Self::Glance => What::Glance,
            Self::Cards => What::Cards,
            Self::Diary => What::Diary,
            Self::Booklet => What::Booklet,
            Self::Letter => What::Letter,
            Self::Record => What::Record,
        }
    }
}

/// Paper on the command line.
#[derive(Clone, Copy, Debug, ValueEnum)]
pub enum PaperArg {
    /// ISO A4
    A4,
    /// US Letter
    Letter,
}

/// Type size on the command line.
#[derive(Clone, Copy, Debug, ValueEnum)]
pub enum TypeArg {
    /// 12 pt body
    Normal,
    /// 18 pt body, set anew
    Large,
}

/// Ink on the command line.
#[derive(Clone, Copy, Debug, ValueEnum)]
pub enum InkArg {
    /// The brand's colours
    Colour,
    /// Greys only
    Grey,
    /// No tints
    Saver,
}

impl Print {
    /// Paper, type and ink asked for.
    pub fn wishes(&self) -> Wishes {
        Wishes {
            paper: self.paper.map(PaperArg::paper),
            type_size: self.type_size.map(|size| match size {
                TypeArg::Normal => Type::Normal,
                TypeArg::Large => Type::Large,
            }),
            ink: self.ink.map(InkArg::ink),
        }
    }
}

impl Book {
    /// What to make of the library.
    pub fn volume(&self) -> Volume {
        match self.kind {
            KindArg::Book => Volume::Book,
            KindArg::Poster => Volume::Poster,
            KindArg::Cards => Volume::Cards { backs: false },
            KindArg::CardsTwoSided => Volume::Cards { backs: true },
        }
    }

    /// Paper and ink asked for.
    pub fn wishes(&self) -> Wishes {
        Wishes { paper: self.paper.map(PaperArg::paper), type_size: None, ink: self.ink.map(InkArg::ink) }
    }
}

impl PaperArg {
    /// The paper that it asks for.
    pub fn paper(self) -> Paper {
        match self {
            Self::A4 => Paper::A4,
            Self::Letter => Paper::Letter,
        }
    }
}

impl InkArg {
    /// The ink that it asks for.
    pub fn ink(self) -> Ink {
        match self {
            Self::Colour => Ink::Colour,
            Self::Grey => Ink::Grey,
            Self::Saver => Ink::Saver,
        }
    }
}

impl SideArg {
    /// The side that it asks for.
    pub fn side(self) -> Side {
        match self {
            Self::Left => Side::Left,
            Self::Right => Side::Right,
        }
    }
}

impl Common {
    /// The day to take as today. This is the one place where the clock is read.
    #[expect(clippy::disallowed_methods, reason = "the command line owns the clock")]
    pub fn today(&self) -> Date {
        self.on.unwrap_or_else(|| jiff::ZonedDateTime::now().date())
    }

    /// How many clients to work on at once.
    pub fn jobs(&self) -> usize {
        match self.jobs {
            Some(jobs) => usize::from(jobs),
            None => std::thread::available_parallelism().map_or(1, std::num::NonZero::get),
        }
    }
}

#[cfg(test)]
mod tests {
    #[test]
    fn the_arguments_hang_together() {
        use clap::CommandFactory;
        super::Args::command().debug_assert();
    }
}

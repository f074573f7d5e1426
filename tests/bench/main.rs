//! How fast handouts come out, against the bare typesetting of the same documents, and how much memory a run takes.
//!
//! `cargo run --release --example bench [CLIENTS]`
//!
//! Everything is measured in one run on one core at a time, interleaved, and reported as a ratio: seconds differ from
//! machine to machine, the ratio hardly does. Memory is measured at a tenth of the clients, at all, and at five times as
//! many, with one worker and with two. With 1,000 clients the whole takes about half an hour, with 40 one or two minutes.

#![allow(clippy::print_stdout, clippy::disallowed_methods, reason = "a tool for people, not part of the library")]

use std::path::Path;
use std::process::Command;
use std::time::Instant;

use jiff::civil::Date;
use kinleaf::check::check;
use kinleaf::draw::Show;
use kinleaf::load::load;
use kinleaf::pipeline::{Order, Which, print, sheets};
use kinleaf::print::{Ink, What, Wishes};

/// Most rounds of each of the two, taken in turn; the median counts. Many clients make up for few rounds.
const ROUNDS: usize = 3;
/// Clients that are as good as several rounds.
const MANY: usize = 600;

fn main() {
    kinleaf::memory::share();
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    if let [mode, folder, jobs] = arguments.as_slice()
        && mode == "--memory-of"
    {
        run(Path::new(folder), jobs.parse().expect("a number of workers"));
        println!("{}", peak_kb());
        return;
    }
    let clients: usize = match arguments.as_slice() {
        [] => 1000,
        [count] => count.parse().ok().filter(|count| *count >= 10).expect("usage: bench [CLIENTS], at least 10"),
        _ => panic!("usage: bench [CLIENTS]"),
    };
    let practice = made_up(clients);
    println!("{clients} made-up clients, one worker");
    let (mut whole, mut bare) = (Vec::new(), Vec::new());
    for _ in 0..(MANY / clients).clamp(1, ROUNDS) {
        whole.push(run(practice.path(), 1));
        bare.push(run_bare(practice.path()));
    }
    let (whole, bare) = (median(whole), median(bare));
    let rate = |seconds: f64| clients as f64 / seconds;
    println!("  the whole way       {:7.1} handouts a second", rate(whole));
    println!("  bare typesetting    {:7.1} handouts a second", rate(bare));
    println!("  ratio               {:7.3}  (target: at most 1.15)", whole / bare);
    let one = made_up(1);
    let program = std::env::current_exe().unwrap().parent().unwrap().parent().unwrap().join("kinleaf");
    if program.exists() {
        let start = Instant::now();
        let made = Command::new(&program).arg("--practice").arg(one.path()).arg("print").output().unwrap();
        assert!(made.status.success());
        println!("  first handout, from the shell {:.2} s  (target: under 0.5)", start.elapsed().as_secs_f64());
    }
    println!("  a frame, solved and drawn to SVG {:.1} ms  (median; target: under 8)", frame() * 1e3);
    println!("peak memory (target: flat, under 100 MB)");
    for jobs in [1, 2] {
        for clients in [clients / 10, clients, 5 * clients] {
            let practice = made_up(clients);
            let mut run = Command::new(std::env::current_exe().unwrap());
            let output = run.arg("--memory-of").arg(practice.path()).arg(jobs.to_string()).output().unwrap();
            let kb: f64 = String::from_utf8_lossy(&output.stdout).trim().parse().unwrap_or(f64::NAN);
            println!("  {clients:5} clients, {jobs} at a time {:7.1} MB", kb / 1024.0);
        }
    }
}

/// Solves and draws every picture of the library in colour, on one core; seconds a frame, the median over all pictures.
fn frame() -> f64 {
    let (files, _) = load(Path::new(env!("CARGO_MANIFEST_DIR")));
    let practice = check(files).0.expect("the practice is sound");
    let each = practice.studio.subjects().map(|(subject, pictures)| {
        let start = Instant::now();
        let figures = practice.studio.figures(subject, pictures.authored(), Ink::Colour, Show::All);
        start.elapsed().as_secs_f64() / figures.map_or(1, |figures| figures.len()) as f64
    });
    median(each.collect())
}

/// Prints every client of a practice into a fresh folder; seconds.
fn run(practice: &Path, jobs: usize) -> f64 {
    let out = tempfile::tempdir().unwrap();
    for ledger in std::fs::read_dir(practice.join("clients")).unwrap().map(|entry| entry.unwrap().path()) {
        if ledger.to_string_lossy().ends_with(".sheets.toml") {
            std::fs::remove_file(ledger).unwrap();
        }
    }
    let order = Order {
        practice: practice.to_owned(),
        out: out.path().to_owned(),
        clients: Vec::new(),
        which: Which::Due,
        what: [What::Handout].into(),
        wishes: Wishes::default(),
        on: Date::constant(2026, 11, 25),
        jobs,
        quality: false,
    };
    let start = Instant::now();
    let outcome = print(&order, &|_, _| {}).expect("the practice is sound");
    assert!(!outcome.failed(), "{:?}", outcome.problems);
    start.elapsed().as_secs_f64()
}

/// Compiles and exports the very same documents and does nothing else; seconds.
fn run_bare(practice: &Path) -> f64 {
    let (typesetter, sheets) = sheets(practice, Date::constant(2026, 11, 25)).expect("the practice is sound");
    let pool = rayon::ThreadPoolBuilder::new().num_threads(1).stack_size(32 << 20).build().unwrap();
    pool.install(|| {
        let start = Instant::now();
        for (ident, data) in &sheets {
            let bytes = typesetter.bare("handout", data, ident);
            assert!(!bytes.is_empty());
        }
        start.elapsed().as_secs_f64()
    })
}

fn median(mut seconds: Vec<f64>) -> f64 {
    seconds.sort_by(f64::total_cmp);
    seconds[seconds.len() / 2]
}

/// Most memory that this process ever held, in kB.
fn peak_kb() -> u64 {
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let line = status.lines().find(|line| line.starts_with("VmHWM:"));
    line.and_then(|line| line.split_whitespace().nth(1)?.parse().ok()).unwrap_or(0)
}

/// A practice with the demo's library and layouts and any number of clients, no two alike.
fn made_up(clients: usize) -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    let demo = Path::new(env!("CARGO_MANIFEST_DIR"));
    for part in ["layouts", "exercises"] {
        copy(&demo.join(part), &folder.path().join(part));
    }
    std::fs::create_dir(folder.path().join("clients")).unwrap();
    let asked = ", because = \"You asked for it.\"";
    for n in 0..clients {
        let side = if n % 2 == 0 { "left" } else { "right" };
        let (left, right) = if n % 2 == 0 { (5 + n % 3, 11) } else { (11, 5 + n % 3) };
        let record = format!(
            "name = \"Robin Number {n}\"\ngoals = [\"Walk {} km along the shore.\"]\nloves = [\"rowing\"]\nminutes_a_day = 30\n\n\
             [[visits]]\non = 2026-11-{:02}\nnext = 2026-12-{:02}\nscreening = {{ yes = [] }}\n\
             readings = [{{ test = \"knee-to-wall\", left = {left}, right = {right} }}, {{ test = \"trunk-turn\", left = {}, right = 44 }}]\n\
             program = [\n  {{ exercise = \"wall-slide\", side = \"{side}\"{asked} }},\n  {{ exercise = \"knee-to-wall\", side = \"{side}\"{asked} }},\n\
               {{ exercise = \"seated-turn\", side = \"each\"{asked} }},\n  {{ exercise = \"slow-bridge\"{asked} }},\n  {{ exercise = \"heel-raise\", side = \"each\"{asked} }},\n\
               {{ exercise = \"chair-squat\"{asked} }},\n]\n",
            1 + n % 9,
            1 + n % 24,
            10 + n % 18,
            28 + n % 5,
        );
        std::fs::write(folder.path().join(format!("clients/client-{n}.toml")), record).unwrap();
    }
    folder
}

fn copy(from: &Path, to: &Path) {
    std::fs::create_dir_all(to).unwrap();
    for entry in std::fs::read_dir(from).unwrap().map(|entry| entry.unwrap()) {
        let target = to.join(entry.file_name());
        if entry.file_type().unwrap().is_dir() {
            copy(&entry.path(), &target);
        } else {
            std::fs::copy(entry.path(), target).unwrap();
        }
    }
}

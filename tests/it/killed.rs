//! Three hundred runs killed at some point: whatever was under way, records, ledgers, what is kept and documents are
//! whole and agree with each other.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::process::{Command, Stdio};
use std::sync::Arc;
use std::time::{Duration, Instant};

use kinleaf::diag::SourceFile;
use kinleaf::ids::{ClientId, Id};
use kinleaf::issued::{Issued, Means, unpacked};
use kinleaf::ledger::{Ledger, hash};

use crate::practice::{ANA, Practice, TODAY, documents};

const KILLS: u32 = 300;
const WORKERS: u32 = 3;
/// What is printed in turn; the first two issue new sheets.
const TURNS: [&[&str]; 4] =
    [&["print", "--renew"], &["print", "--renew"], &["print", "--again", "--ink", "saver"], &["print"]];
const CLIENTS: [&str; 2] = ["ana", "owen"];

/// A layout that sets every word and every drawing of a sheet, and takes no time over it.
const LAYOUT: &str = r#"#let data = json("/data.json")
#let (y, m, d) = data.doc.ymd
#set document(title: data.doc.title, date: datetime(year: y, month: m, day: d))
#set text(font: "Atkinson Hyperlegible Next", fallback: false, size: 8pt, hyphenate: false, lang: "en")
#set par(justify: false)
= #data.message.greeting
#let quiet = ("labels", "lang", "region", "title", "kind", "look", "brand", "alt", "src", "logo_src", "side", "icon", "letter")
#let walk(value, key) = {
  if key in quiet { } else if key == "svg" { image(bytes(value), format: "svg", width: 2cm, alt: "A picture.") }
  else if type(value) == str { par(value) }
  else if type(value) == array { for item in value { walk(item, key) } }
  else if type(value) == dictionary { for (key, item) in value { walk(item, key) } }
}
#walk(data, "")
"#;

/// A practice so small that a run is short: one exercise without drawings, one test, one layout, two clients.
fn small() -> Practice {
    let practice = Practice::with_ana();
    practice.write("clients/owen.toml", ANA.replace("yes = []", "yes = [\"leg-swollen\"]"));
    let only = |folder: &str, keep: &[&str]| {
        for entry in fs::read_dir(practice.path(folder)).unwrap().map(|entry| entry.unwrap()) {
            let name = entry.file_name().into_string().unwrap();
            if entry.path().is_file() && !keep.contains(&name.as_str()) {
                fs::remove_file(entry.path()).unwrap();
            }
        }
    };
    for folder in ["loosen", "stretch", "switch-on", "put-to-use", "tests", "poses/tests"] {
        only(&format!("exercises/{folder}"), &["knee-to-wall.toml"]);
    }
    only("exercises/poses", &["library.toml"]);
    only("layouts", &["brand.toml"]);
    practice.write("layouts/handout.typ", LAYOUT);
    only("layouts/fonts", &["AtkinsonHyperlegibleNext_400Regular.ttf", "AtkinsonHyperlegibleNext_700Bold.ttf"]);
    practice.replace("layouts/brand.toml", "logo = \"logo.svg\"\nlogo_alt = \"a bird over a wave\"\n", "");
    practice
}

/// Numbers that look random and are the same every time.
struct Numbers(u64);

impl Numbers {
    fn below(&mut self, end: u64) -> u64 {
        // Knuth's MMIX generator; its upper bits are the good ones.
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) % end.max(1)
    }
}

/// What was seen after the last run: ledgers only grow.
#[derive(Default)]
struct Seen {
    ledgers: BTreeMap<&'static str, Ledger>,
    whole: BTreeSet<String>,
    removed: BTreeSet<String>,
}

impl Seen {
    fn kept(&mut self, practice: &Practice, name: &str) -> Vec<u8> {
        let packed = fs::read(practice.path("clients/issued").join(name)).expect("what the ledger names is kept");
        let bytes = unpacked(name, &packed).expect("what is kept is whole");
        self.whole.insert(name.to_owned());
        bytes
    }

    fn look(&mut self, practice: &Practice) {
        assert_eq!(practice.read("clients/ana.toml"), ANA, "records are the coach's");
        let on_paper: BTreeMap<String, Vec<u8>> = documents(&practice.path("out")).into_iter().collect();
        for (name, bytes) in on_paper.iter().filter(|(name, _)| name.ends_with(".pdf")) {
            assert!(bytes.starts_with(b"%PDF") && bytes.trim_ascii_end().ends_with(b"%%EOF"), "{name} is half a file");
        }
        for client in CLIENTS {
            let path = format!("clients/{client}.sheets.toml");
            if !practice.path(&path).exists() {
                assert!(!self.ledgers.contains_key(client), "{client}: the ledger is gone");
                continue;
            }
            let file = Arc::new(SourceFile { text: practice.read(&path), path });
            let ledger = Ledger::read(&file, &ClientId::new(client).unwrap()).expect("a ledger is whole");
            if let Some(before) = self.ledgers.get(client) {
                assert!(ledger.sheets.len() >= before.sheets.len());
                for (then, now) in before.sheets.iter().zip(&ledger.sheets) {
                    assert!(then.kept == now.kept && now.documents.starts_with(&then.documents));
                }
            }
            for sheet in &ledger.sheets {
                let name = sheet.kept.clone().unwrap();
                if !self.whole.contains(&name) {
                    let issued: Issued = serde_json::from_slice(&self.kept(practice, &name)).unwrap();
                    let means: Means = serde_json::from_slice(&self.kept(practice, &issued.means)).unwrap();
                    let missing: Vec<String> =
                        means.0.into_values().filter(|name| !self.whole.contains(name)).collect();
                    missing.iter().for_each(|name| drop(self.kept(practice, name)));
                }
                for document in &sheet.documents {
                    let file = format!("{client}/{}", document.file);
                    match on_paper.get(&file) {
                        Some(bytes) => assert_eq!(hash(bytes), document.sha256, "{file}"),
                        None => assert!(self.removed.contains(&file), "{file} is in the ledger and was never there"),
                    }
                }
            }
            self.ledgers.insert(client, ledger);
        }
    }
}

/// Starts a run and kills it after a while; says whether it was still at work.
fn kill_after(practice: &Practice, arguments: &[&str], wait: Duration) -> bool {
    let mut run = Command::new(env!("CARGO_BIN_EXE_kinleaf"))
        .arg("--practice")
        .arg(practice.path(""))
        .args(["--on", TODAY, "--jobs", "2"])
        .args(arguments)
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .spawn()
        .unwrap();
    std::thread::sleep(wait);
    let at_work = run.try_wait().unwrap().is_none();
    let _ = run.kill();
    run.wait().unwrap();
    at_work
}

/// One worker's share; gives how many runs were killed at work.
fn share(seed: u64) -> u32 {
    let practice = small();
    let (mut numbers, mut seen, mut killed) = (Numbers(seed), Seen::default(), 0);
    // Each kind of run is killed at some point of the time that it takes.
    let takes = TURNS.map(|arguments| {
        let start = Instant::now();
        assert_eq!(practice.run(arguments).code, 0);
        start.elapsed().as_micros() as u64
    });
    for turn in 0..KILLS / WORKERS {
        let kind = turn as usize % TURNS.len();
        match kind {
            // Another layout, so that there is something new to keep.
            0 | 1 => practice.write("layouts/handout.typ", format!("{LAYOUT}// {turn}\n")),
            // One document is gone: it must come back.
            3 => {
                if let Some((name, _)) = documents(&practice.path("out")).into_iter().next() {
                    fs::remove_file(practice.path("out").join(&name)).unwrap();
                    seen.removed.insert(name);
                }
            }
            _ => {}
        }
        let wait = Duration::from_micros(numbers.below(takes[kind]));
        killed += u32::from(kill_after(&practice, TURNS[kind], wait));
        seen.look(&practice);
    }
    // After all that a run finds its way, and leaves nothing of theirs behind.
    let last = practice.run(&["print"]);
    assert_eq!(last.code, 0, "{}", last.err);
    seen.removed.clear();
    seen.look(&practice);
    assert_eq!(practice.run(&["print"]).out.trim(), "Nothing is due.");
    for folder in ["clients", "clients/issued", "out", "out/ana", "out/owen"] {
        let names = fs::read_dir(practice.path(folder)).unwrap().map(|entry| entry.unwrap().file_name());
        let left: Vec<_> = names.filter(|name| name.to_str().unwrap().starts_with(".kinleaf-")).collect();
        assert!(left.iter().all(|name| name == ".kinleaf-lock"), "{folder}: {left:?}");
    }
    killed
}

#[test]
fn three_hundred_killed_runs_leave_everything_whole() {
    let workers: Vec<_> = (1..=WORKERS).map(|seed| std::thread::spawn(move || share(u64::from(seed)))).collect();
    let killed: u32 = workers.into_iter().map(|worker| worker.join().unwrap()).sum();
    assert!(killed > KILLS / 4, "only {killed} runs were still at work");
}
